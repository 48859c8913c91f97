// What a step asks for: counts, a reason, a place, pieces, a card, a verdict, what is there.
import { stepWord } from "./said.js";
import { html, useState } from "../../web/lib/vendor/ui.js";
import { byCentre } from "./choose.js";
import { CountsView } from "./counts.js";
import { submit } from "./flow.js";
import { useKeys } from "./keys.js";
import { afterKey, NoteField, NumPad } from "./pads.js";
import { ReadyView } from "./ready.js";
import { asked, choicesOf, lapses, reasonRead, shop } from "./state.js";
import { When, withWhen } from "./when.js";
import { measuredOf, nothing } from "../../web/lib/measured.js";
import { count, say } from "../../web/lib/words.js";

/**
 * @typedef {import("./_types.js").Step} Step
 * @typedef {import("./_types.js").View} View
 */

/** @typedef {{id: string, word: string, likely?: boolean}} Choice */

const LOSSES = ["scrap", "rework", "review"];

/** @param {{step: Step, v: View}} props */
export function AskView({ step, v }) {
  switch (step.needs) {
    case "reason:stop":
      return html`<${ReasonView} step=${step} kind="stop" caution />`;
    case "reason:wait":
      return html`<${ReasonView} step=${step} kind="wait" />`;
    // Batches are held for what sets pieces aside.
    case "reason:hold":
      return html`<${ReasonView} step=${step} kind="review" why="pad.why.hold" />`;
    case "place":
      return html`<${PlaceView} step=${step} />`;
    case "pieces":
      return html`<${PiecesView} step=${step} v=${v} />`;
    case "sibling":
      return html`<${SiblingView} step=${step} v=${v} />`;
    case "ready":
      return html`<${ReadyView} step=${step} v=${v} foot=${html`<${Foot} step=${step} />`} />`;
    case "verdict":
      return html`<${VerdictView} step=${step} />`;
  }
  return html`<${CountsView} step=${step} v=${v} />`;
}

const back = () => (asked.value = null);

/** @param {{step: Step}} props */
const Foot = ({ step }) =>
  html`<div class="foot">
    <${When} />
    <${NoteField} step=${step} />
    <button class="key" data-test="back" onClick=${back}>${say("pad.back")}</button>
  </div>`;

/**
 * Digits choose, so that keyboard and action sheet can.
 * @param {Choice[]} list
 * @param {(x: Choice, kind?: string) => void} pick
 * @param {string[]} [kinds] of reasons that a sheet may name
 */
function useChoice(list, pick, kinds) {
  useKeys((k) => {
    if (k === "key.back") return (back(), true);
    const why = reasonRead(k, kinds);
    if (why) return (pick({ id: why.reason, word: why.text }, why.kind), true);
    const i = "1234567890".indexOf(k);
    return k.length === 1 && list[i] ? (pick(list[i]), true) : false;
  }, "press");
}

/** @param {{list: Choice[], pick: (x: Choice) => void, test: string}} props */
function Choices({ list, pick, test }) {
  return html`<div class="keys">
    ${list.map(
      (x, i) => html`<button
        key=${x.id}
        class=${"key step" + (x.likely ? " likely-place" : "")}
        data-test=${test + x.id}
        onClick=${() => pick(x)}>
        ${i < 10 && html`<kbd>${(i + 1) % 10}</kbd>`}
        ${x.word}
      </button>`,
    )}
  </div>`;
}

/** @param {{step: Step, kind: string, why?: string, caution?: boolean}} props */
function ReasonView({ step, kind, why = "pad.why." + kind, caution }) {
  const list = choicesOf(kind, say("pad.other")).map((r) => ({ id: r.reason, word: r.text || r.reason }));
  // A hold has no reasons of its own in the shop: it says the words themselves.
  const pick = (/** @type {Choice} */ x) => submit(step, { reason: step.action === "hold" ? x.word : x.id });
  useChoice(list, pick, [kind]);
  return html`<div class="ask" data-test="reasons">
    <h2>${withWhen(say(why))}</h2>
    ${caution && html`<p class="caution" data-test="caution">${say("caution")}</p>`}
    <${Choices} list=${list} pick=${pick} test="reason-" />
    <${Foot} step=${step} />
  </div>`;
}

/** @param {{step: Step}} props */
function PlaceView({ step }) {
  const all = byCentre(shop.value.machines).sort(
    ([a], [b]) => Number(b === step.work_centre) - Number(a === step.work_centre),
  );
  const list = all.flatMap(([wc, ms]) =>
    ms.map((/** @type {{machine: string, name: string}} */ m) => ({
      id: m.machine,
      word: `${m.machine} ${m.name}`,
      likely: wc === step.work_centre,
    })),
  );
  const pick = (/** @type {Choice} */ x) => submit(step, { to: x.id });
  useChoice(list, pick);
  return html`<div class="ask" data-test="places">
    <h2>${withWhen(say("pad.place"))}</h2>
    <${Choices} list=${list} pick=${pick} test="place-" />
    <${Foot} step=${step} />
  </div>`;
}

/** @param {{step: Step, v: View}} props */
function SiblingView({ step, v }) {
  const list = (v.siblings || []).map((/** @type {{card: string, pieces: number}} */ s) => ({
    id: s.card,
    word: `${s.card} · ${count("line.pieces", s.pieces)}`,
  }));
  const pick = (/** @type {Choice} */ x) => submit(step, { for: x.id });
  useChoice(list, pick);
  return html`<div class="ask" data-test="siblings">
    <h2>${withWhen(say("pad.sibling"))}</h2>
    <${Choices} list=${list} pick=${pick} test="sibling-" />
    <${Foot} step=${step} />
  </div>`;
}

/** @param {{step: Step, v: View}} props */
function PiecesView({ step, v }) {
  const [n, set] = useState(step.pieces ? String(step.pieces) : "");
  const all = step.pieces || v.left || 0;
  const go = () => Number(n) > 0 && submit(step, { pieces: Number(n) });
  // The first digit replaces what was proposed.
  const [touched, touch] = useState(false);
  const put = (/** @type {string} */ x) => (set(x), touch(true));
  useKeys((k) => {
    const next = afterKey(touched ? n : "", k, all);
    if (next !== null) return (put(next), true);
    if (k === "key.ok") return (go(), true);
    return k === "key.back" ? (back(), true) : false;
  }, "digits");
  return html`<div class="ask" data-test="pieces">
    <h2>${stepWord(step)}: ${say("pad.pieces")}</h2>
    <output class="typed" data-test="typed">${n || "0"}</output>
    <${NumPad} value=${touched ? n : ""} set=${put} all=${all} />
    <div class="row">
      <button
        class="main"
        data-test="pieces-ok"
        data-sense=${lapses.value}
        disabled=${!Number(n)}
        onClick=${go}>
        ${withWhen(`${stepWord(step)}: ${n || 0}`)}
      </button>
    </div>
    <${Foot} step=${step} />
  </div>`;
}

/** @typedef {import("../../web/lib/measured.js").Draft} Draft */

/**
 * A dimension of the piece, by the keyboard of the device, for those who want to note
 * one.
 * @param {{draft: Draft, set: (d: Draft) => void, odd: boolean}} props
 */
function MeasureFields({ draft, set, odd }) {
  const [shown, show] = useState(false);
  if (!shown)
    return html`<button class="key small" data-test="measure-add" onClick=${() => show(true)}>
      ${say("pad.measure.add")}
    </button>`;
  const names = /** @type {(keyof Draft)[]} */ (Object.keys(draft));
  return html`<div class="measure" data-test="measure">
    ${names.map(
      (name) => html`<label key=${name} class="note">
        ${say("pad.measure." + name)}
        <input
          data-test=${"measure-" + name}
          maxlength="120"
          inputmode=${name === "dimension" ? "text" : "decimal"}
          value=${draft[name]}
          onInput=${(/** @type {import("../../web/lib/_types.js").Input} */ e) =>
            set({ ...draft, [name]: e.target.value })}
        />
      </label>`,
    )}
    ${odd && html`<p class="late" role="alert" data-test="measure-odd">${say("pad.measure.odd")}</p>`}
  </div>`;
}

/** @param {{step: Step}} props */
function VerdictView({ step }) {
  const [kind, setKind] = useState("scrap");
  const [draft, setDraft] = useState(nothing);
  const [odd, setOdd] = useState(false);
  const decide = (/** @type {Record<string, unknown>} */ fields) => {
    const measured = measuredOf(draft);
    setOdd(!measured);
    if (measured) submit(step, measured.length ? { ...fields, measured } : fields);
  };
  const accept = () => decide({ good: 1 });
  const list = choicesOf(kind, say("pad.other")).map((r) => ({ id: r.reason, word: r.text || r.reason }));
  const pick = (/** @type {Choice} */ x, as = kind) => decide({ [as]: [{ reason: x.id, n: 1 }] });
  useChoice(list, pick, LOSSES);
  useKeys((k) => {
    if (k === "key.ok" || k === "pass") return (accept(), true);
    const outcome = k.startsWith("outcome.") ? k.slice(8) : "";
    return LOSSES.includes(outcome) ? (setKind(outcome), true) : false;
  });
  return html`<div class="ask" data-test="verdict">
    <h2>${say("pad.verdict")}</h2>
    <button class="main" data-test="accept" data-sense=${lapses.value} onClick=${accept}>
      ${withWhen(say("pad.accept"))}
    </button>
    <${MeasureFields} draft=${draft} set=${setDraft} odd=${odd} />
    <p class="caution">${say("caution.quarantine")}</p>
    <h3>${say("pad.refuse")}</h3>
    <div class="keys">
      ${LOSSES.map(
        (o) =>
          html`<button
            key=${o}
            class="key"
            data-test=${"outcome-" + o}
            aria-pressed=${kind === o}
            onClick=${() => setKind(o)}>
            ${say(o)}
          </button>`,
      )}
    </div>
    <${Choices} list=${list} pick=${pick} test="reason-" />
    <${Foot} step=${step} />
  </div>`;
}
