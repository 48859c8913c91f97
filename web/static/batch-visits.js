// The visits of a batch: the strip to scale, its table, and behind each visit
// the scans it comes from.
import {html, useComputed, useEffect, useRef, useSignal} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {tick} from "/static/clock.js";
import {seconds} from "/static/times.js";
import {machineName, reasonText} from "/static/shop.js";
import {At, Hint, Mark} from "/static/marks.js";
import {Strip, kinds} from "/static/strip.js";
import {CsvButton} from "/static/csv.js";
import {Lines} from "/static/batch-lines.js";

const times = kinds.map((k) => [k, k + "_s"]);
const pieces = ["good", "scrap", "rework", "review", "missing"];

// peopleOf gives the people of a visit: names where the scans carry them.
function peopleOf(v, lines) {
  const names = new Map(lines.filter((l) => l.who && l.scan.operator).map((l) => [l.scan.operator, l.who]));
  return (v.people || []).map((p) => names.get(p) || p).join(", ");
}

function Told({v}) {
  return html`${v.inferred.map((i) => html`<${Hint} key=${i}>${say("inferred." + i)}<//> `)}
    ${v.time_uncertain && html`<${Hint}>${say("uncertain")}<//> `}${v.rework_for && html`<${Hint}>${say("rework.for", v.rework_for)}<//> `}
    ${v.first_off && html`<${Hint}>${say("verdict." + v.first_off)}<//> `}${v.setup_pieces > 0 && html`<${Hint}>${count("setup.pieces", v.setup_pieces)}<//>`}`;
}

function Losses({v}) {
  if (!v.losses || v.losses.length === 0) return null;
  return html`<p class="losses">${v.losses.map((l) => `${l.n} ${say("figure." + l.outcome)}: ${reasonText(l.reason, l.outcome)}${l.caused_at ? " (" + say("caused.at", l.caused_at) + ")" : ""}`).join("; ")}</p>`;
}

// Parts are the times of a visit. The wait before it is told in working time too
// where that is another.
function Parts({v}) {
  const parts = times.filter(([, f]) => v[f]), wait = (v.transport_s || 0) + (v.queue_s || 0) + (v.between_s || 0);
  return html`<dl class="parts">${parts.map(([k, f]) => html`<div key=${k}><dt>${say("part." + k)}</dt><dd data-test=${"visit-" + k}>${seconds(v[f])}</dd></div>`)}
    ${wait - (v.waited_s ?? wait) > 60 && html`<div><dt>${say("part.waited")}</dt><dd data-test="visit-waited">${seconds(v.waited_s)}</dd></div>`}</dl>`;
}

// isMeant tells that the address names a visit, as links from the figures do.
const isMeant = (v) => location.hash === "#visit-" + v.visit;

function Visit({v, lines, all, deeds}) {
  const asked = lines.filter((l) => l.fate === "question").length, changed = lines.filter((l) => ["corrected", "undone", "dropped", "elsewhere"].includes(l.fate)).length;
  const people = peopleOf(v, all), meant = isMeant(v), ref = useRef(null);
  useEffect(() => { if (meant) ref.current?.scrollIntoView({block: "start"}); }, []);
  return html`<article class=${meant ? "visit meant" : "visit"} ref=${ref} id=${"visit-" + v.visit} data-test="visit" data-operation=${v.operation} data-machine=${v.machine} data-state=${v.state}>
    <div class="visit-head"><h3>${say("visit.title", v.operation, v.machine)} <small>${machineName(v.machine)}</small></h3>
      <p>${say("state." + v.state)}${people && ` – ${people}`}</p>
      <p>${v.arrived && html`${say("visit.arrived")} <${At} t=${v.arrived} />`}${v.finished && html`${v.arrived ? ", " : ""}${say("visit.finished")} <${At} t=${v.finished} />`}${v.walk_m > 0 && ` – ${say("metres", Math.round(v.walk_m))}`}</p></div>
    <${Parts} v=${v} />
    <dl class="parts counts">${pieces.filter((p) => p === "good" || v[p]).map((p) => html`<div key=${p} class=${p !== "good" ? "not-zero" : ""}><dt>${say("figure." + p)}</dt><dd data-test=${"visit-" + p}>${v[p]}</dd></div>`)}</dl>
    <div class="told"><${Told} v=${v} /><${Losses} v=${v} /></div>
    <details data-test="visit-scans" open=${meant}><summary>${count("visit.scans", lines.length)} ${asked > 0 && html`<${Mark} kind="ask">${count("fate.question.n", asked)}<//>`} ${changed > 0 && html`<${Hint}>${count("fate.changed.n", changed)}<//>`}</summary>
      <${Lines} lines=${lines} deeds=${deeds} /></details></article>`;
}

export function Visits({b, lines, deeds}) {
  const opened = useSignal(Date.now());
  const minute = useComputed(() => Math.floor(tick.value / 60000) * 60000 || opened.value);
  const head = ["visit", "operation", "machine", "state", "arrived", "finished", ...times.map(([, f]) => f), "waited_s", ...pieces, "inferred"];
  const rows = () => b.visits.map((v) => [v.visit, v.operation, v.machine, v.state, v.arrived, v.finished, ...times.map(([, f]) => v[f]), v.waited_s, ...pieces.map((p) => v[p]), v.inferred.join(" ")]);
  return html`<section><div class="top"><h2>${say("batch.visits")}</h2><${CsvButton} name=${b.card + "-visits"} head=${head} rows=${rows} /></div>
    <${Strip} batch=${b} t=${Math.max(minute.value, Date.parse(b.released))} />
    ${b.visits.length === 0 ? html`<p class="empty">${say("visits.none")}</p>` : b.visits.map((v) => html`<${Visit} key=${v.visit} v=${v} all=${lines} lines=${lines.filter((l) => l.visit === v.visit)} deeds=${deeds} />`)}</section>`;
}
