// What an operation needs, by the shop's list: at a desk, whoever knows says what is there
// and what is missing.
import { html, useEffect, useSignal } from "./vendor/ui.js";
import { get } from "./api.js";
import { Dialog } from "./form.js";
import { may } from "./shell.js";
import { desk, sendAll, theShop } from "./shop.js";
import { say } from "./words.js";

/**
 * @typedef {import("./_types.js").Input} Input
 * @typedef {import("./_types.js").Schema["Batch"]} Batch
 * @typedef {import("./_types.js").Schema["Thing"]} Thing
 * Draft is what is to be said of each thing, by its code.
 * @typedef {Record<string, string>} Draft
 */

export const STATES = ["there", "missing", "open"];

/** hasThings says whether the shop has a list of what must be there. */
export const hasThings = () => theShop().reasons.some((r) => r.kind === "ready");

/**
 * needsThings says whether the shop's list has something for a work centre.
 * @param {string} centre
 */
export const needsThings = (centre) =>
  theShop().reasons.some(
    (r) => r.kind === "ready" && (!r.work_centres?.length || r.work_centres.includes(centre)),
  );

/**
 * ticksOf lists what is to be said of things that is not said of them already, as fields
 * of ready scans.
 * @param {Thing[]} things
 * @param {Draft} draft
 * @param {number} operation
 * @param {string} note
 * @returns {Record<string, unknown>[]}
 */
export const ticksOf = (things, draft, operation, note) =>
  things
    .filter((t) => draft[t.thing] !== t.state)
    .map((t) => ({ operation, for: t.thing, reason: draft[t.thing], ...(note && { note }) }));

/**
 * @param {{card: string, operation: number, after?: () => void, close: () => void}} props
 */
function ReadyDialog({ card, operation, after, close }) {
  const batch = useSignal(/** @type {Batch | null} */ (null)),
    draft = useSignal(/** @type {Draft} */ ({})),
    note = useSignal(""),
    problem = useSignal("");
  useEffect(() => {
    get(`/api/v1/batches/${encodeURIComponent(card)}`)
      .then((/** @type {Batch} */ b) => {
        batch.value = b;
        draft.value = Object.fromEntries(thingsOf(b, operation).map((t) => [t.thing, t.state]));
      })
      .catch((/** @type {Error} */ err) => {
        problem.value = err.message;
      });
  }, [card, operation]);
  const b = batch.value,
    things = b ? thingsOf(b, operation) : [];
  const set = (/** @type {Draft} */ change) => {
    draft.value = { ...draft.value, ...change };
  };
  const go = async (/** @type {(text: string) => void} */ bad) => {
    const ticks = ticksOf(things, draft.value, operation, note.value.trim());
    if (ticks.length === 0) return bad(say("order.nothing"));
    const scans = ticks.map((t) => desk("ready", card, t));
    if (await sendAll(scans, { done: say("ready.done"), undoable: may("settle"), after, bad })) close();
  };
  return html`<${Dialog}
    title=${say("ready.title", operation, b?.works_order || card)}
    act=${say("order.do")}
    go=${go}
    close=${close}>
    ${problem.value && html`<p class="problem" data-test="failed">${problem.value}</p>`}
    ${b && things.length === 0 && html`<p data-test="ready-begun">${say("ready.begun")}</p>`}
    ${things.map((t) => html`<${Thing} key=${t.thing} t=${t} state=${draft.value[t.thing]} set=${set} />`)}
    ${things.length > 1 &&
    html`<p class="deeds">
      <button
        type="button"
        data-test="ready-all"
        onClick=${() => set(Object.fromEntries(things.map((t) => [t.thing, "there"])))}>
        ${say("ready.all")}
      </button>
    </p>`}
    ${things.length > 0 &&
    html`<label>
      ${say("ready.note")}
      <input
        maxlength="500"
        data-test="ready-note"
        value=${note.value}
        onInput=${(/** @type {Input} */ e) => {
          note.value = e.target.value;
        }}
      />
    </label>`}
  <//>`;
}

/** @type {(b: Batch, operation: number) => Thing[]} */
const thingsOf = (b, operation) => b.operations.find((o) => o.operation === operation)?.things ?? [];

/** @param {{t: Thing, state: string, set: (change: Draft) => void}} props */
const Thing = ({ t, state, set }) =>
  html`<div class="thing" role="radiogroup" aria-label=${t.text || t.thing} data-test=${"thing-" + t.thing}>
    <b>${t.text || t.thing}</b>
    ${STATES.map(
      (s) =>
        html`<label key=${s} class="tick">
          <input
            type="radio"
            name=${t.thing}
            data-test=${`thing-${t.thing}-${s}`}
            checked=${state === s}
            onChange=${() => set({ [t.thing]: s })}
          />
          ${say("ready." + s)}
        </label>`,
    )}
  </div>`;

/**
 * ReadyButton opens the list of what an operation needs; nothing for those who may not
 * say what is there.
 * @param {{card: string, operation: number, after?: () => void, small?: boolean}} props
 */
export function ReadyButton({ card, operation, after, small = false }) {
  const open = useSignal(false);
  if (!may("ready")) return null;
  const close = () => {
    open.value = false;
  };
  return html`
    <button
      class=${small ? "small" : ""}
      data-test="ready"
      data-operation=${operation}
      onClick=${() => {
        open.value = true;
      }}>
      ${say(small ? "ready.short" : "ready.ask")}
    </button>
    ${open.value &&
    html`<${ReadyDialog} card=${card} operation=${operation} after=${after} close=${close} />`}
  `;
}
