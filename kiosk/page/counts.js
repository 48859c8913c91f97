// The pad for counts: good first, then what was lost and why.
import { stepWord } from "./said.js";
import { html, useState } from "../../web/lib/vendor/ui.js";
import { refuse } from "./edge.js";
import { submit } from "./flow.js";
import { useKeys } from "./keys.js";
import { afterKey, NoteField, NumPad } from "./pads.js";
import { asked, choicesOf, lapses, note, reasonRead, reasonsOf } from "./state.js";
import { When, withWhen } from "./when.js";
import { say } from "../../web/lib/words.js";

/**
 * @typedef {import("./_types.js").Step} Step
 * @typedef {import("./_types.js").View} View
 * @typedef {import("./_types.js").Loss} Loss
 * @typedef {import("./_types.js").Scanned} Scanned
 */

/**
 * Counts is what stands in the pad; numbers are as they were typed.
 * @typedef {{tab: string, good: string, missing: string, reads: string, draft: string, caused: number,
 *   lines: Loss[], why: boolean, pre: string}} Counts
 */

const LOSSES = /** @type {const} */ (["scrap", "rework", "review"]);

/**
 * Which outcomes a step can take: what is under review is not reviewed again.
 * @param {Step} step
 */
function outcomes(step) {
  if (step.action === "decide") return step.reason ? ["good"] : ["good", "scrap", "rework", "missing"];
  const all = ["good", ...LOSSES, "missing"];
  return step.action === "count" || step.action === "finish" ? [...all, "reads"] : all;
}

/** @type {(p: Counts) => number} */
const sumOf = (p) => Number(p.good || 0) + Number(p.missing || 0) + p.lines.reduce((n, l) => n + l.n, 0);

/**
 * The fields of the scan.
 * @param {Counts} p
 */
function fields(p) {
  /** @type {import("./_types.js").Fields} */
  const out = {};
  if (p.good !== "") out.good = Number(p.good);
  if (p.missing !== "") out.missing = Number(p.missing);
  if (p.reads !== "") out.reads = Number(p.reads);
  for (const kind of LOSSES) {
    const l = p.lines
      .filter((x) => x.kind === kind)
      .map(({ reason, n, caused_at }) => ({ reason, n, ...(caused_at && { caused_at }) }));
    if (l.length) out[kind] = l;
  }
  return out;
}

/**
 * What was typed, or one piece, noted as lost for a reason.
 * @param {Counts} p
 * @param {string} reason
 * @returns {Counts}
 */
function lost(p, reason) {
  const line = { kind: p.tab, n: Number(p.draft) || 1, reason, caused_at: p.caused };
  const same = (/** @type {Loss} */ l) =>
    l.kind === line.kind && l.reason === reason && l.caused_at === line.caused_at;
  const had = p.lines.find(same);
  const lines = had ? p.lines.map((l) => (l === had ? { ...l, n: l.n + line.n } : l)) : [...p.lines, line];
  return { ...p, draft: "", pre: "", why: false, lines };
}

/** @param {{step: Step, v: View}} props */
export function CountsView({ step, v }) {
  const [p, setP] = useState({
    tab: "good",
    good: "",
    missing: "",
    reads: "",
    draft: "",
    caused: 0,
    lines: /** @type {Loss[]} */ ([]),
    why: false,
    pre: "",
  });
  const can = step.pieces || v.left || 0;
  const rest = can - sumOf(p) - Number(p.draft || 0);
  const loss = LOSSES.some((k) => k === p.tab);
  const typed = loss ? p.draft : p[/** @type {"good" | "missing" | "reads"} */ (p.tab)];
  const set = (/** @type {string} */ value) => setP({ ...p, [loss ? "draft" : p.tab]: value, why: false });
  const reasons = choicesOf(p.tab, say("pad.other"));
  const lose = (/** @type {string} */ reason) => setP(lost(p, reason));
  const empty = sumOf(p) === 0 && p.reads === "";
  const done = () => {
    if (loss && Number(p.draft) && p.pre) return submit(step, fields(lost(p, p.pre)));
    if (loss && Number(p.draft)) return setP({ ...p, why: true });
    if (empty && step.action !== "finish") return setP({ ...p, why: true });
    if (step.reason === "concession" && !note.value) return setP({ ...p, why: true });
    submit(step, fields(p));
  };
  const kinds = outcomes(step);
  const turn = (/** @type {string} */ tab, pre = "") => {
    // Pieces that were lost for no reason yet are not dropped for what comes next.
    if (loss && tab !== p.tab && Number(p.draft) && !p.pre)
      return (refuse(say("pad.reason")), setP({ ...p, why: true }));
    // A number that has its reason is done with, once something else is named.
    const q = loss && p.pre && Number(p.draft) ? lost(p, p.pre) : p;
    setP({ ...q, tab, draft: q.tab === tab && !pre ? q.draft : "", pre, why: false });
  };
  useKeys((k, alone) => {
    const why = reasonRead(k, kinds);
    if (why && why.kind === p.tab && Number(p.draft) && !p.pre) return (lose(why.reason), true);
    if (why) return (turn(why.kind, why.reason), true);
    if (k.startsWith("outcome.")) return kinds.includes(k.slice(8)) ? (turn(k.slice(8)), true) : false;
    if (p.why && loss && alone && /^\d$/.test(k))
      return reasons[Number(k) - 1] ? (lose(reasons[Number(k) - 1].reason), true) : true;
    const next = afterKey(typed, k, rest + Number(typed || 0));
    if (next !== null) return (set(next), true);
    if (k === "key.ok") return (done(), true);
    if (k === "key.back") return ((asked.value = null), true);
    const tab = kinds.find((o) => o[0] === k.toLowerCase() && o !== p.tab) || null;
    return tab ? (turn(tab), true) : false;
  }, "digits");
  return html`<div class="ask" data-test="counts">
    <h2>${stepWord(step)}</h2>
    <div class="count-grid">
      <${Tabs} p=${p} turn=${turn} step=${step} />
      <div class="middle">
        <output class="typed" data-test="typed">
          ${typed === "" ? "0" : typed}
          <small> ${say(p.tab)}${p.pre && ": " + reasonText(p.tab, p.pre)}</small>
        </output>
        <${Remain} p=${p} can=${can} rest=${rest} v=${v} />
        <${NumPad} value=${typed} set=${set} all=${p.tab === "reads" ? 0 : rest + Number(typed || 0)} />
      </div>
      <div class="side">
        ${loss && html`<${Reasons} list=${reasons} pick=${lose} asks=${p.why} />`}
        ${loss &&
        html`<${Caused}
          v=${v}
          at=${p.caused}
          set=${(/** @type {number} */ caused) => setP({ ...p, caused })}
        />`}
        <${Lines} p=${p} setP=${setP} />
      </div>
    </div>
    <div class="row done">
      <button class="key" data-test="back" onClick=${() => (asked.value = null)}>${say("pad.back")}</button>
      <button class="main" data-test="counts-ok" data-sense=${lapses.value} onClick=${done}>
        ${withWhen(doneWord(p, step, empty))}
      </button>
    </div>
    <${When} />
    <${NoteField} step=${step} asks=${p.why} />
  </div>`;
}

/**
 * @param {Counts} p
 * @param {Step} step
 * @param {boolean} empty
 */
function doneWord(p, step, empty) {
  if (empty) return step.action === "finish" ? say("pad.nothing") : say("pad.done");
  const n = (/** @type {string} */ kind) =>
    p.lines.filter((l) => l.kind === kind).reduce((s, l) => s + l.n, 0);
  const parts = [
    [p.good, "good"],
    [n("scrap"), "scrap"],
    [n("rework"), "rework"],
    [n("review"), "review"],
    [p.missing, "missing"],
  ].filter(([k]) => Number(k));
  if (p.reads !== "") return `${say("reads")} ${p.reads}`;
  return `${say("pad.done")}: ${parts.map(([k, w]) => `${k} ${say(String(w))}`).join(", ")}`;
}

/** @param {{p: Counts, turn: (tab: string) => void, step: Step}} props */
function Tabs({ p, turn, step }) {
  const n = (/** @type {string} */ o) =>
    LOSSES.some((k) => k === o)
      ? p.lines.filter((l) => l.kind === o).reduce((s, l) => s + l.n, 0) || ""
      : p[/** @type {"good" | "missing" | "reads"} */ (o)];
  return html`<div class="outcomes" role="tablist">
    ${outcomes(step).map(
      (o) => html`<button
        key=${o}
        role="tab"
        class="key outcome"
        data-test=${"outcome-" + o}
        aria-selected=${p.tab === o}
        onClick=${() => turn(o)}>
        <span>${say(o)}</span>
        <b>${n(o)}</b>
      </button>`,
    )}
  </div>`;
}

/** @param {{p: Counts, can: number, rest: number, v: View}} props */
function Remain({ p, can, rest, v }) {
  if (p.tab === "reads")
    return html`<p>${v.reads === undefined ? say("pad.reads.first") : say("pad.reads.last", v.reads)}</p>`;
  if (v.left === undefined) return null;
  if (rest < 0) return html`<p class="over" data-test="remain">${say("pad.over", -rest)}</p>`;
  return html`<p data-test="remain">${rest === can ? say("pad.left", can) : say("pad.remain", rest)}</p>`;
}

/** @param {{list: {reason: string, text: string}[], pick: (reason: string) => void, asks: boolean}} props */
function Reasons({ list, pick, asks }) {
  return html`<div>
    <p class=${asks ? "over" : ""}>${say("pad.reason")}</p>
    <div class="keys">
      ${list.map(
        (r, i) => html`<button
          key=${r.reason}
          class="key step"
          data-test=${"reason-" + r.reason}
          onClick=${() => pick(r.reason)}>
          ${asks && html`<kbd>${i + 1}</kbd>`}
          ${r.text || r.reason}
        </button>`,
      )}
    </div>
  </div>`;
}

/** @param {{v: View, at: number, set: (operation: number) => void}} props */
function Caused({ v, at, set }) {
  const before = (v.route || []).filter((o) => o.operation < (v.operation ?? 0));
  if (!before.length) return null;
  const key = (/** @type {number} */ op, /** @type {string} */ word) =>
    html`<button
      key=${op}
      class="key small"
      data-test=${"caused-" + op}
      aria-pressed=${at === op}
      onClick=${() => set(op)}>
      ${word}
    </button>`;
  return html`<div>
    <p>${say("pad.caused")}</p>
    <div class="keys">
      ${key(0, say("pad.caused.here"))}
      ${before.map((o) => key(o.operation, `${o.operation} ${o.work_centre}`))}
    </div>
  </div>`;
}

/** @type {(kind: string, reason: string) => string} */
const reasonText = (kind, reason) => reasonsOf(kind).find((r) => r.reason === reason)?.text || reason;

/** @param {{p: Counts, setP: (p: Counts) => void}} props */
function Lines({ p, setP }) {
  const text = (/** @type {Loss} */ l) => reasonText(l.kind, l.reason);
  return html`<ul class="losses">
    ${p.lines.map(
      (l, i) => html`<li key=${i}>
        <span>
          ${l.n} ${say(l.kind)}: ${text(l)}${l.caused_at ? ` (${say("pad.caused")} ${l.caused_at})` : ""}
        </span>
        <button
          class="key small"
          data-test=${"loss-off-" + i}
          onClick=${() => setP({ ...p, lines: p.lines.filter((_, j) => j !== i) })}>
          ${say("pad.remove")}
        </button>
      </li>`,
    )}
  </ul>`;
}
