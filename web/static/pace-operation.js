// One operation of a route revision: the batches behind its line on the pace
// board, down to their visits.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {me, start} from "/static/shell.js";
import {get} from "/static/api.js";
import {say, count} from "/static/words.js";
import {full, shortSpan} from "/static/times.js";
import {CsvButton} from "/static/csv.js";
import {deviationText, timeText} from "/static/pace-rows.js";
import {Rests, Told, ToldWait} from "/static/pace-ops.js";
import {Plot} from "/static/pace-plot.js";
import {BatchTable, csvHead, csvRow, visitLink} from "/static/pace-batches.js";

function Facts({r}) {
  const fact = (name, content) => html`<div><dt>${say("pace.head." + name)}</dt><dd data-test=${"fact-" + name}>${content}</dd></div>`;
  return html`<dl class="op-facts">${fact("setup", html`<${Told} name="setup" planned=${r.plan_setup_s} s=${r.setup} />`)}
    ${fact("piece", html`<${Told} name="piece" planned=${r.plan_piece_s} s=${r.piece} />`)}${fact("wait", html`<${ToldWait} wait=${r.wait} worked=${r.worked} />`)}
    ${fact("against", html`<b>${deviationText(r)}</b> <small>${r.plan_s > 0 && say("pace.together", shortSpan(r.plan_s * 1000), shortSpan(r.actual_s * 1000))}</small> <small>${" "}<${Rests} row=${r} /></small>`)}</dl>`;
}

const dots = (list, value) => list.filter((b) => !b.left_out && b.ended && b.visits.length > 0 && value(b) > 0).map((b) => ({
  x: Date.parse(b.ended), y: value(b), card: b.card, href: visitLink(b, b.visits.at(-1)), title: `${b.works_order || b.card}, ${full(b.ended)}: ${timeText(value(b))}`,
}));

function Operation({a}) {
  const r = a.row, told = a.batches.filter((b) => !b.left_out), out = a.batches.filter((b) => b.left_out);
  const name = [r.part, r.route_rev, r.operation].join("-");
  return html`<p><a class="back" href="/pace">${say("pace.back")}</a></p>
    <div class="top"><h1>${r.part} ${r.part_name && html`<span class="soft">${r.part_name}</span>`}</h1></div>
    <p class="summary">${say("operation.of", r.operation)}, ${say("pace.route", r.route_rev)}, ${r.work_centre} <span class="soft">${say("pace.days", a.days)}</span></p>
    <section><${Facts} r=${r} /></section>
    <section><${Plot} name="piece" title=${say("pace.plot.piece")} points=${dots(a.batches, (b) => b.piece_s)} plan=${r.plan_piece_s} s=${r.piece} />
      <${Plot} name="setup" title=${say("pace.plot.setup")} points=${dots(a.batches, (b) => (b.setups ? b.setup_s / b.setups : 0))} plan=${r.plan_setup_s} s=${r.setup} /></section>
    <section><div class="top"><h2>${count("pace.behind", told.length)}</h2><${CsvButton} name=${"pace-" + name} head=${csvHead} rows=${() => a.batches.map(csvRow)} /></div>
      <${BatchTable} list=${told} row=${r} test="pace-batch" /></section>
    <section data-test="left-out"><h2>${count("pace.left-out-of", out.length)}</h2><p class="soft">${say("pace.left-out.how")}</p>
      ${out.length > 0 && html`<${BatchTable} list=${out} row=${r} why test="pace-left" />`}</section>`;
}

function OperationPage() {
  const answer = useSignal(null), problem = useSignal("");
  useEffect(() => {
    get("/api/v1/pace/operation" + location.search).then((a) => {
      answer.value = a;
      document.title = say("title", `${a.row.part} ${say("operation.of", a.row.operation)}`);
    }).catch((err) => { problem.value = err.message; });
  }, []);
  if (problem.value) return html`<p><a class="back" href="/pace">${say("pace.back")}</a></p><h1>${say("pace.title")}</h1><p class="empty" data-test="failed">${problem.value}</p>`;
  return answer.value ? html`<${Operation} a=${answer.value} />` : html`<p class="soft">${say("loading")}</p>`;
}

start("pace.title", () => (me.value ? html`<${OperationPage} />` : null));
