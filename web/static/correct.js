// The dialog that corrects a scan: which card, machine and operation it was
// for, how many pieces, when it happened. The scan itself stays in the record.
import {html, useSignal} from "/static/vendor/ui.js";
import {say, known} from "/static/words.js";
import {desk, send} from "/static/scans.js";
import {scanText} from "/static/scan-text.js";
import {shop} from "/static/shop.js";
import {fromLocal, localText} from "/static/times.js";
import {Dialog} from "/static/dialog.js";
import {LossFields} from "/static/loss-fields.js";

const losses = ["scrap", "rework", "review"];

// draftOf is what the form begins with: the scan as it was said, and whether it
// was about pieces.
function draftOf(line, b) {
  const s = line.scan, visit = b && b.visits.find((v) => v.visit === line.visit);
  return {
    card: b ? b.card : s.card, station: line.machine || s.station, operation: s.operation || (visit ? visit.operation : ""),
    good: s.good ?? "", missing: s.missing ?? "", scrap: s.scrap || [], rework: s.rework || [], review: s.review || [],
    pieces: s.pieces || "", reason: s.reason || "", at: localText(line.at),
    counts: s.action === "count" || s.action === "finish" || s.good !== undefined || losses.some((k) => (s[k] || []).length > 0),
  };
}

// correction is the scan that says what the form says; what was not touched
// stays as it was.
export function correction(line, was, d) {
  const fields = {for: line.scan.id, station: d.station};
  if (Number(d.operation) > 0) fields.operation = Number(d.operation);
  if (d.counts && (d.good !== "" || d.missing !== "" || losses.some((k) => d[k].length))) {
    fields.good = Number(d.good) || 0;
    if (Number(d.missing) > 0) fields.missing = Number(d.missing);
    for (const k of losses) if (d[k].length) fields[k] = d[k].map((l) => ({...l, n: Number(l.n)}));
  }
  if (Number(d.pieces) > 0) fields.pieces = Number(d.pieces);
  if (d.reason) fields.reason = d.reason;
  if (d.at !== was.at) fields.happened = new Date(fromLocal(d.at)).toISOString();
  const moved = d.card !== was.card || d.station !== was.station || String(d.operation) !== String(was.operation);
  if (line.visit && line.visit !== line.scan.id && !moved) fields.visit = line.visit;
  return desk("correct", d.card.trim(), fields);
}

export function CorrectDialog({line, b, after, close}) {
  const was = draftOf(line, b), draft = useSignal(was);
  const d = draft.value, set = (k) => (e) => { draft.value = {...draft.value, [k]: e.target.value}; };
  const go = async (bad) => {
    if (await send(correction(line, was, draft.value), {done: say("corrected.done"), after, bad})) close();
  };
  const number = (k, label) => html`<label>${label}<input type="number" min="0" max="10000000" step="1" data-test=${"correct-" + k} value=${d[k]} onInput=${set(k)} /></label>`;
  const split = ["split", "send", "receive", "deliver"].includes(line.scan.action);
  return html`<${Dialog} title=${say("correct.title", known("action." + line.scan.action, line.scan.action))} act=${say("correct.do")} go=${go} close=${close}>
    <p class="soft">${say("correct.said")} ${scanText(line.scan)}</p>
    <div class="fields"><label>${say("fact.card")}<input required maxlength="120" data-test="correct-card" value=${d.card} onInput=${set("card")} /></label>
      <label>${say("head.machine")}<select data-test="correct-station" onChange=${set("station")}>
        ${(shop.value ? shop.value.machines : []).map((m) => html`<option key=${m.machine} value=${m.machine} selected=${m.machine === d.station}>${m.machine} ${m.name}</option>`)}
        ${!(shop.value && shop.value.machines.some((m) => m.machine === d.station)) && html`<option value=${d.station} selected>${d.station}</option>`}</select></label>
      ${number("operation", say("head.operation"))}
      <label>${say("correct.at")}<input type="datetime-local" step="1" required data-test="correct-at" value=${d.at} onInput=${set("at")} /></label></div>
    ${d.counts && html`<div class="fields">${number("good", say("figure.good"))}${number("missing", say("figure.missing"))}</div>
      ${losses.map((k) => html`<${LossFields} key=${k} kind=${k} list=${d[k]} set=${(list) => { draft.value = {...draft.value, [k]: list}; }} />`)}`}
    ${split && html`<div class="fields">${number("pieces", say("head.pieces"))}</div>`}
    ${line.scan.action === "stop" && html`<label>${say("correct.reason")}<select data-test="correct-reason" onChange=${set("reason")}><option value="">${say("none")}</option>
      ${(shop.value ? shop.value.reasons : []).filter((r) => r.kind === "stop" || r.kind === "wait").map((r) => html`<option key=${r.kind + r.reason} value=${r.reason} selected=${r.reason === d.reason}>${r.text}</option>`)}</select></label>`}<//>`;
}
