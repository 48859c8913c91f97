// Visits and scans of a batch as they were, with what the story made of each.
import { html, useComputed, useEffect, useRef, useSignal } from "../../lib/vendor/ui.js";
import { tick } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { At, Hint, Mark } from "../../lib/marks.js";
import { measuredText } from "../../lib/measured.js";
import { desk, machineName, reasonText, scanText, send } from "../../lib/shop.js";
import { kinds, Strip } from "../../lib/strip.js";
import { full, seconds } from "../../lib/times.js";
import { count, known, say, stateWord } from "../../lib/words.js";

/**
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./asked.js").Batch} Batch
 * @typedef {import("./asked.js").Line} Line
 * @typedef {Schema["Visit"]} VisitView
 * Deeds is what may be done about a scan.
 * @typedef {{settle: boolean, after: () => void, correct: (line: Line) => void}} Deeds
 * @typedef {Extract<keyof VisitView, `${string}_s`>} TimeOf
 */

// Scans as they were said, with what the story made of each. Those who may
// settle can take one back or correct it.

const gone = ["undone", "dropped", "refused", "elsewhere"];
const heads = ["seq", "at", "by", "said", "fate"];

/**
 * late says that a scan came in well after it happened.
 * @param {Line} l
 */
const late = (l) => Math.abs(Date.parse(l.arrived) - Date.parse(l.at)) > 2000;

/** @param {{l: Line}} props */
function Fate({ l }) {
  const word = say("fate." + l.fate);
  return html`
    ${l.fate === "question"
      ? html`<${Mark} kind="ask">${word}<//>`
      : html`<span class=${l.fate === "told" ? "soft" : ""}>${word}</span>`}
    ${l.time_uncertain && html` <${Hint}>${say("uncertain")}<//>`}
    ${l.anyway && html`<p>${say("fate.anyway")} ${l.anyway}</p>`}
    ${l.say && l.fate !== "told" && html`<p>${l.say}</p>`}
  `;
}

/** @param {{l: Line, deeds: Deeds}} props */
function Line({ l, deeds }) {
  const control = ["undo", "correct", "decide"].includes(l.scan.action);
  const who = [l.who || l.scan.operator, l.machine].filter(Boolean).join(", ");
  const back = () =>
    send(desk("undo", l.scan.card, { for: l.scan.id }), {
      done: say("taken-back"),
      undoable: false,
      after: deeds.after,
    });
  const buttons = deeds.settle && !gone.includes(l.fate) && l.fate !== "corrected";
  return html`<tr
    class=${gone.includes(l.fate) ? "gone" : ""}
    data-test="line"
    data-seq=${l.seq}
    data-action=${l.scan.action}
    data-fate=${l.fate}>
    <td data-label=${say("head.seq")}>${l.seq}</td>
    <td data-label=${say("head.at")}>
      <time datetime=${l.at}>${full(l.at)}</time>
      ${late(l) && html` <small>${say("arrived")} <${At} t=${l.arrived} /></small>`}
    </td>
    <td data-label=${say("head.by")}>
      ${who || l.by}
      ${who && l.by
        ? html` <small>${l.by}${l.role ? ", " + known("role." + l.role, l.role) : ""}</small>`
        : ""}
    </td>
    <td data-label=${say("head.said")} class="said">${scanText(l.scan)}</td>
    <td data-label=${say("head.fate")}>
      <${Fate} l=${l} />
      ${buttons &&
      html`<p class="deeds">
        <button class="quiet" data-test="undo" onClick=${back}>${say("take-back")}</button>
        ${!control &&
        html`<button class="quiet" data-test="correct" onClick=${() => deeds.correct(l)}>
          ${say("correct")}
        </button>`}
      </p>`}
    </td>
  </tr>`;
}

/** @param {{lines: Line[], deeds: Deeds}} props */
export function Lines({ lines, deeds }) {
  if (lines.length === 0) return html`<p class="soft">${say("lines.none")}</p>`;
  return html`<table class="lines stack">
    <thead><tr>${heads.map((h) => html`<th key=${h} scope="col">${say("head." + h)}</th>`)}</tr></thead>
    <tbody>${lines.map((l) => html`<${Line} key=${l.scan.id + l.seq} l=${l} deeds=${deeds} />`)}</tbody>
  </table>`;
}

// The visits of a batch: the strip to scale, its table, and behind each visit
// the scans it comes from.

const times = /** @type {[string, TimeOf][]} */ (kinds.map((k) => [k, k + "_s"]));
// Of those set aside, "review" is what is not decided yet; "concession" is of good.
const pieces = /** @type {const} */ ([
  "good",
  "scrap",
  "rework",
  "set_aside",
  "review",
  "missing",
  "concession",
]);

/**
 * peopleOf gives the people of a visit: names where the scans carry them.
 * @param {VisitView} v
 * @param {Line[]} lines
 */
function peopleOf(v, lines) {
  const names = new Map(lines.filter((l) => l.who && l.scan.operator).map((l) => [l.scan.operator, l.who]));
  return (v.people || []).map((p) => names.get(p) || p).join(", ");
}

/** @param {{v: VisitView}} props */
function Said({ v }) {
  return html`
    ${v.inferred.map((i) => html`<${Hint} key=${i}>${say("inferred." + i)}<//> `)}
    ${v.time_uncertain && html`<${Hint}>${say("uncertain")}<//> `}
    ${v.rework_for && html`<${Hint}>${say("rework.for", v.rework_for)}<//> `}
    ${v.first_off && html`<${Hint}>${say("verdict." + v.first_off)}<//> `}
    ${v.setup_pieces > 0 && html`<${Hint}>${count("setup.pieces", v.setup_pieces)}<//>`}
  `;
}

/** @param {{v: VisitView}} props */
function Rejected({ v }) {
  const r = v.rejected;
  if (!r) return null;
  return html`<p data-test="rejected">
    ${say(
      "rejected.says",
      r.who || r.by || say("rejected.someone"),
      full(r.at),
      reasonText(r.reason, r.kind || "scrap"),
    )}
    ${r.overruled && html` <${Hint}>${say("rejected.overruled")}<//>`}
  </p>`;
}

/** @param {{v: VisitView}} props */
const MeasuredList = ({ v }) =>
  (v.measured || []).map(
    (m, i) =>
      html`<p key=${i} data-test="measured">
        ${measuredText(m)}
        ${m.who || m.by ? ` – ${m.who || m.by}` : ""}
      </p>`,
  );

/** @param {Schema["LostPieces"]} l */
function lossText(l) {
  const caused = l.caused_at ? ` (${say("caused.at", l.caused_at)})` : "";
  const decided = l.decided ? `, ${say("loss.decided", full(l.decided))}` : "";
  return `${l.n} ${say("figure." + l.outcome)}: ${reasonText(l.reason, l.outcome)}${caused}${decided}`;
}

/** @param {{v: VisitView}} props */
function Losses({ v }) {
  if (!v.losses || v.losses.length === 0) return null;
  return html`<p class="losses">${v.losses.map(lossText).join("; ")}</p>`;
}

/**
 * Parts are the times of a visit. The wait before it is given in working time too
 * where that is another.
 * @param {{v: VisitView}} props
 */
function Parts({ v }) {
  const parts = times.filter(([, f]) => v[f]),
    wait = (v.transport_s || 0) + (v.queue_s || 0) + (v.between_s || 0);
  return html`<dl class="parts">
    ${parts.map(
      ([k, f]) =>
        html`<div key=${k}>
          <dt>${say("part." + k)}</dt>
          <dd data-test=${"visit-" + k}>${seconds(v[f])}</dd>
        </div>`,
    )}
    ${wait - (v.waited_s ?? wait) > 60 &&
    html`<div><dt>${say("part.waited")}</dt><dd data-test="visit-waited">${seconds(v.waited_s)}</dd></div>`}
  </dl>`;
}

/**
 * isMeant reports that the address names a visit, as links from the figures do.
 * @param {VisitView} v
 */
const isMeant = (v) => location.hash === "#visit-" + v.visit;

/** @param {{v: VisitView, lines: Line[], all: Line[], deeds: Deeds}} props */
function Visit({ v, lines, all, deeds }) {
  const asked = lines.filter((l) => l.fate === "question").length,
    changed = lines.filter((l) => ["corrected", "undone", "dropped", "elsewhere"].includes(l.fate)).length;
  const people = peopleOf(v, all),
    meant = isMeant(v),
    ref = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    if (meant) ref.current?.scrollIntoView({ block: "start" });
  }, []);
  return html`<article
    class=${meant ? "visit meant" : "visit"}
    ref=${ref}
    id=${"visit-" + v.visit}
    data-test="visit"
    data-operation=${v.operation}
    data-machine=${v.machine}
    data-state=${v.state}>
    <div class="visit-head">
      <h3>${say("visit.title", v.operation, v.machine)} <small>${machineName(v.machine)}</small></h3>
      <p>${stateWord(v.state)}${people && ` – ${people}`}</p>
      <p>
        ${v.arrived && html`${say("visit.arrived")} <${At} t=${v.arrived} />`}
        ${v.finished && html`${v.arrived ? ", " : ""}${say("visit.finished")} <${At} t=${v.finished} />`}
        ${v.walk_m > 0 && ` – ${say("metres", Math.round(v.walk_m))}`}
      </p>
    </div>
    <${Parts} v=${v} />
    <dl class="parts counts">
      ${pieces
        .filter((p) => p === "good" || v[p])
        .map(
          (p) =>
            html`<div key=${p} class=${p !== "good" ? "not-zero" : ""}>
              <dt>${say("figure." + p)}</dt>
              <dd data-test=${"visit-" + p}>${v[p]}</dd>
            </div>`,
        )}
    </dl>
    <div class="said">
      <${Said} v=${v} />
      <${Rejected} v=${v} />
      <${MeasuredList} v=${v} />
      <${Losses} v=${v} />
    </div>
    <details data-test="visit-scans" open=${meant}>
      <summary>
        ${count("visit.scans", lines.length)}${" "}
        ${asked > 0 && html`<${Mark} kind="ask">${count("fate.question.n", asked)}<//>`}${" "}
        ${changed > 0 && html`<${Hint}>${count("fate.changed.n", changed)}<//>`}
      </summary>
      <${Lines} lines=${lines} deeds=${deeds} />
    </details>
  </article>`;
}

/** @param {{b: Batch, lines: Line[], deeds: Deeds}} props */
export function Visits({ b, lines, deeds }) {
  const opened = useSignal(Date.now());
  const minute = useComputed(() => Math.floor(tick.value / 60000) * 60000 || opened.value);
  const head = [
    "visit",
    "operation",
    "machine",
    "state",
    "arrived",
    "finished",
    ...times.map(([, f]) => f),
    "waited_s",
    ...pieces,
    "inferred",
  ];
  const rows = () =>
    b.visits.map((v) => [
      v.visit,
      v.operation,
      v.machine,
      v.state,
      v.arrived,
      v.finished,
      ...times.map(([, f]) => v[f]),
      v.waited_s,
      ...pieces.map((p) => v[p]),
      v.inferred.join(" "),
    ]);
  return html`<section>
    <div class="top">
      <h2>${say("batch.visits")}</h2>
      <${CsvButton} name=${b.card + "-visits"} head=${head} rows=${rows} />
    </div>
    <${Strip} batch=${b} t=${Math.max(minute.value, Date.parse(b.released))} />
    ${b.visits.length === 0
      ? html`<p class="empty">${say("visits.none")}</p>`
      : b.visits.map(
          (v) =>
            html`<${Visit}
              key=${v.visit}
              v=${v}
              all=${lines}
              lines=${lines.filter((l) => l.visit === v.visit)}
              deeds=${deeds}
            />`,
        )}
  </section>`;
}
