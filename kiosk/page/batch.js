// A batch that is open: what it is, how it stands here, and what can be said.
import { html } from "../../web/lib/vendor/ui.js";
import { AskView } from "./asks.js";
import { now as serverNow, tick } from "../../web/lib/clock.js";
import { UNDO_MS } from "./consts.js";
import { choose, undo } from "./flow.js";
import { close } from "./front.js";
import { useKeys } from "./keys.js";
import { link } from "./outbox.js";
import { practising } from "./practising.js";
import { missingText } from "./ready.js";
import { saidOf, stepWord } from "./said.js";
import { answer, asked, lapses, open, over, own, reasonsOf, when } from "./state.js";
import { Hot } from "../../web/lib/marked.js";
import { dateText, minutes, minuteText, span } from "../../web/lib/times.js";
import { Answer } from "./answers.js";
import { When, whenWord, withWhen } from "./when.js";
import { count, say, stateWord } from "../../web/lib/words.js";
import { Scale } from "./work.js";

/** @typedef {import("./_types.js").View} View */

export function BatchView() {
  const v = open.value;
  if (!v) return null;
  return html`<section class="batch" data-test="batch" data-card=${v.card}>
    <${Head} v=${v} />
    ${answer.value && html`<${Answer} />`}
    ${v.looking
      ? html`<p class="soft" data-test="looking">${say("batch.looking")}</p>`
      : asked.value
        ? html`<${AskView} key=${asked.value.key} step=${asked.value} v=${v} />`
        : html`<${Body} v=${v} />`}
  </section>`;
}

/** @param {{v: View}} props */
function Head({ v }) {
  return html`<header class="head">
    <div>
      <h1>${v.works_order || v.card}${v.hot ? html` <${Hot} />` : ""}</h1>
      <p>
        ${v.part && html`<b>${v.part}</b> ${v.part_name}`}
        ${v.drawing_rev && html` · ${say("batch.drawing", v.drawing_rev)}`} ·${" "}
        <span class="code">${v.card}</span>
      </p>
    </div>
    <button class="key" data-test="close" onClick=${close}>${say("batch.close")}</button>
  </header>`;
}

/** @param {{v: View}} props */
function Body({ v }) {
  return html`<div><${Facts} v=${v} /><${Steps} v=${v} /></div>`;
}

/** @type {(kind: string, code: string) => string} */
const reasonText = (kind, code) => reasonsOf(kind).find((r) => r.reason === code)?.text || code;

/** @param {{v: View}} props */
function Facts({ v }) {
  const other = v.scanned && v.scanned !== v.operation;
  const op = v.scanned || v.operation || 0;
  const centre = other ? v.route?.find((o) => o.operation === op)?.work_centre : v.work_centre;
  return html`<div class="facts">
    ${v.why && html`<p class="stopper" data-test="why">${v.why}</p>`}
    ${op > 0 &&
    html`<p class="op" data-test="operation">
      <b>${say(other ? "batch.op.scanned" : "batch.op", op)}</b> ${centre} ${other ? "" : v.instruction}
      ${v.rework_for ? html` · ${say("batch.rework", v.rework_for)}` : ""}
    </p>`}
    ${v.visit_state &&
    html`<p>
      <b class="state" data-test="state">${stateWord(v.visit_state)}</b>
      ${v.stop_reason && html` · ${say("batch.stop", reasonText("stop", v.stop_reason))}`}${" "}
      <${Scale} v=${v} got=${v.got} />
    </p>`}
    <${Numbers} v=${v} />
    ${missingText(v.things) &&
    html`<p class="stopper plain" data-test="missing">${say("batch.missing", missingText(v.things))}</p>`}
    ${(v.short ?? 0) > 0 &&
    html`<p class="stopper plain" data-test="short">${count("batch.short", v.short ?? 0, v.wanted)}</p>`}
    <ul class="notes">${notes(v).map((n) => html`<li key=${n}>${n}</li>`)}</ul>
    ${(v.stranger || (link.value.alone && !practising)) &&
    html`<p class="soft" data-test="alone">${say(v.stranger ? "batch.stranger" : "batch.alone")}</p>`}
  </div>`;
}

/** @param {{v: View}} props */
function Numbers({ v }) {
  if (v.left === undefined) return null;
  const counted = /** @type {const} */ (["good", "scrap", "rework", "review", "missing"]).filter(
    (k) => k === "good" || v[k],
  );
  return html`<p class="numbers">
    ${counted.map((k) => html`<span key=${k} data-test=${"n-" + k}><b>${v[k]}</b> ${say(k)}</span>`)}
    <span data-test="left">${v.left ? say("batch.left", v.left) : say("batch.left.none")}</span>
  </p>`;
}

/**
 * What else someone at the machine should know, most urgent first.
 * @param {View} v
 */
function notes(v) {
  const inButton = (v.steps || []).some((s) => s.likely && s.key === "move.planned");
  const out = [!inButton && v.wrong_machine, !inButton && v.wrong_order, v.passed && say("batch.passed")];
  if (v.first_off?.wanted && !v.first_off.state) out.push(say("batch.first"));
  if (v.first_off?.state === "accepted") out.push(say("batch.first.accepted"));
  if (v.rework_waiting) out.push(count("batch.rework.waits", v.rework_waiting));
  if (v.review_waiting) out.push(count("batch.review.waits", v.review_waiting));
  if (v.things?.length && v.things.every((t) => t.state === "there")) out.push(say("batch.ready"));
  if (v.wait_reason) out.push(say("batch.wait", reasonText("wait", v.wait_reason)));
  if (v.before)
    out.push(
      say(
        v.before.closed ? "batch.before" : v.before.seen ? "batch.before.open" : "batch.before.unseen",
        v.before.operation,
        v.before.work_centre,
        v.before.good,
      ),
    );
  if (!v.visit_state && v.operation)
    out.push(
      [
        say("plan.setup", minutes(v.setup_min ?? 0)),
        say("plan.cycle", minutes((v.cycle_min ?? 0) / (v.pieces_per_cycle || 1))),
      ].join(", "),
    );
  if (!v.visit && v.place && v.place !== v.machine) out.push(say("batch.place", v.place));
  if (v.questions) out.push(count("batch.questions", v.questions));
  if (v.started)
    out.push(
      say("batch.pieces", v.started, v.wanted) + (v.due ? ", " + say("line.due", dateText(v.due)) : ""),
    );
  return out.filter(Boolean);
}

/**
 * What bars the run, said large; and what waits for someone else.
 * @param {{v: View}} props
 */
function Bars({ v }) {
  const f = v.first_off;
  const may = (v.steps || []).some((s) => s.action === "run");
  return html`
    ${f?.state === "waiting" &&
    html`<p class="stopper" data-test="first-waiting">${say("batch.first.waiting")}</p>`}
    ${(f?.state === "refused" || (f?.at && f.state !== "waiting")) &&
    html`<div class="stopper" data-test="first-refused">
      <p>${say("batch.first.refused")}</p>
      ${f.at &&
      html`<p class="why">
        ${say(
          may ? "batch.first.why.anyway" : "batch.first.why",
          minuteText(Date.parse(f.at)),
          reasonText(f.kind ?? "", f.reason ?? ""),
          f.by || say("batch.first.someone"),
        )}
      </p>`}
    </div>`}
    ${(v.others || []).map(
      (n) => html`<p class="stopper plain" key=${n.key} data-test=${n.key}>${stepWord(n)}</p>`,
    )}
  `;
}

/** @param {{v: View}} props */
function Steps({ v }) {
  const steps = v.steps || [];
  const likely = steps.find((s) => s.likely);
  const others = steps.filter((s) => s !== likely);
  useKeys(
    (k) => {
      if (over.value || asked.value || (answer.value && (k.startsWith("key.") || answer.value.anyway)))
        return false;
      if ((k === "key.ok" || k === "key.next") && likely) return (choose(likely), true);
      if (k === "key.back") return (close(), true);
      const i = "123456789".indexOf(k);
      if (k.length === 1 && i >= 0 && others[i]) return (choose(others[i]), true);
      return false;
    },
    () => (over.value || asked.value ? "" : "press"),
  );
  return html`<div class="steps">
    <${Bars} v=${v} />
    ${likely &&
    html`<button
      class="main likely"
      data-test="likely"
      data-action=${likely.action}
      data-key=${likely.key}
      data-sense=${lapses.value}
      onClick=${() => choose(likely)}>
      ${withWhen(stepWord(likely))}
    </button>`}
    ${needsCaution(v) && html`<p class="caution" data-test="caution">${say("caution")}</p>`}
    <div class="keys others" aria-label=${say("others")}>
      ${others.map(
        (s, i) => html`<button
          key=${s.key + s.for + s.phase + s.to}
          class="key step"
          data-test=${"step-" + s.key}
          data-action=${s.action}
          data-sense=${lapses.value}
          onClick=${() => choose(s)}>
          ${i < 9 && html`<kbd>${i + 1}</kbd>`}
          <span>${stepWord(s)}${!s.needs && when.value && html`<small>${whenWord()}</small>`}</span>
        </button>`,
      )}
    </div>
    ${steps.length > 0 && html`<${When} />`}
  </div>`;
}

/**
 * Where someone reaches into the machine next.
 * @param {View} v
 */
function needsCaution(v) {
  return (
    ["setting", "stopped", "firstoff"].includes(v.visit_state ?? "") ||
    (v.steps || []).some((s) => s.likely && ["setup", "firstoff", "stop"].includes(s.action))
  );
}

/** The latest own scan, and how long it can still be taken back. */
export function UndoBar() {
  tick.value;
  const e = own.value;
  if (!e || asked.value) return null;
  const left = UNDO_MS - (serverNow() - e.told);
  if (left <= 0) return null;
  return html`<div class="undo" data-test="undo-bar">
    <span><b>${saidOf(e.scan, reasonText)}</b> · <span class="code">${e.scan.card}</span></span>
    <button class="key" data-test="undo" data-sense=${e.id} onClick=${undo}>
      ${say("undo.back")} <small>${say("undo.left", span(left))}</small>
    </button>
  </div>`;
}
