// What a batch's order says of it, changed with a reason by those who may: hot,
// priority, due date, pieces wanted, customer, order line, material lots.
import { html, useEffect, useSignal } from "./vendor/ui.js";
import { get } from "./api.js";
import { Dialog } from "./form.js";
import { may } from "./shell.js";
import { desk, sendAll } from "./shop.js";
import { say } from "./words.js";

/**
 * @typedef {import("./_types.js").Input} Input
 * @typedef {import("./_types.js").Schema["Batch"]} Batch
 * Draft is what the dialog's fields hold.
 * @typedef {{hot: boolean, priority: string, due: string, wanted: string, customer: string,
 *   order_line: string, lots: string}} Draft
 */

/** mayOrder says whether the one who looks may change orders. */
export const mayOrder = () => may("release");

/**
 * @param {Batch} b
 * @returns {Draft}
 */
export const draftOf = (b) => ({
  hot: Boolean(b.hot),
  priority: String(b.priority || 0),
  due: b.due || "",
  wanted: String(b.wanted),
  customer: b.customer || "",
  order_line: b.order_line || "",
  lots: (b.material_lots || []).join(", "),
});

/**
 * changesOf lists what of the order is to be changed, as fields of override scans.
 * A due date that was emptied stays as it was: none can be said.
 * @param {Draft} was
 * @param {Draft} is
 * @returns {Record<string, unknown>[]}
 */
export function changesOf(was, is) {
  const out = [];
  if (is.hot !== was.hot) out.push({ for: "hot", pieces: is.hot ? 1 : 0 });
  for (const name of /** @type {const} */ (["priority", "wanted"]))
    if (Number(is[name]) !== Number(was[name])) out.push({ for: name, pieces: Number(is[name]) });
  if (is.due && is.due !== was.due) out.push({ for: "due", to: is.due });
  for (const name of /** @type {const} */ (["customer", "order_line", "lots"]))
    if (is[name].trim() !== was[name].trim()) out.push({ for: name, to: is[name].trim() });
  return out;
}

/**
 * OrderDialog asks what is to be changed of a batch, and why.
 * @param {{card: string, after?: () => void, close: () => void}} props
 */
export function OrderDialog({ card, after, close }) {
  const batch = useSignal(/** @type {Batch | null} */ (null)),
    draft = useSignal(/** @type {Draft | null} */ (null)),
    reason = useSignal(""),
    problem = useSignal("");
  useEffect(() => {
    get(`/api/v1/batches/${encodeURIComponent(card)}`)
      .then((b) => {
        batch.value = b;
        draft.value = draftOf(b);
      })
      .catch((/** @type {Error} */ err) => {
        problem.value = err.message;
      });
  }, [card]);
  const b = batch.value,
    d = draft.value;
  const go = async (/** @type {(text: string) => void} */ bad) => {
    if (!b || !d) return;
    const changes = changesOf(draftOf(b), d).map((c) =>
      desk("override", card, { ...c, reason: reason.value.trim() }),
    );
    if (changes.length === 0) return bad(say("order.nothing"));
    if (await sendAll(changes, { done: say("order.done"), undoable: may("settle"), after, bad })) close();
  };
  return html`<${Dialog}
    title=${say("order.title", b?.works_order || card)}
    act=${say("order.do")}
    go=${go}
    close=${close}>
    ${problem.value && html`<p class="problem" data-test="failed">${problem.value}</p>`}
    ${d &&
    html`<${Fields}
      d=${d}
      set=${(/** @type {Partial<Draft>} */ change) => {
        draft.value = { ...d, ...change };
      }}
    />`}
    <label>
      ${say("order.reason")}
      <input
        required
        maxlength="120"
        data-test="order-reason"
        value=${reason.value}
        onInput=${(/** @type {Input} */ e) => {
          reason.value = e.target.value;
        }}
      />
    </label>
  <//>`;
}

/** @param {{d: Draft, set: (change: Partial<Draft>) => void}} props */
function Fields({ d, set }) {
  const field = (/** @type {keyof Draft} */ name, /** @type {Record<string, unknown>} */ more) =>
    html`<label>
      ${say("order." + name)}
      <input
        data-test=${"order-" + name}
        value=${d[name]}
        onInput=${(/** @type {Input} */ e) => set({ [name]: e.target.value })}
        ...${more}
      />
    </label>`;
  return html`
    <label class="tick">
      <input
        type="checkbox"
        data-test="order-hot"
        checked=${d.hot}
        onChange=${(/** @type {Input} */ e) => set({ hot: e.target.checked })}
      />
      ${say("order.hot")}
    </label>
    <div class="fields">
      ${field("due", { type: "date", required: Boolean(d.due) })}
      ${field("wanted", { type: "number", min: 1, max: 10000000, step: 1, required: true })}
      ${field("priority", { type: "number", min: -1000, max: 1000, step: 1, required: true })}
      ${field("customer", { maxlength: 120 })}
      ${field("order_line", { maxlength: 120 })}
      ${field("lots", { maxlength: 120 })}
    </div>
  `;
}

/**
 * OrderButton opens the dialog for a batch; nothing for those who may not.
 * @param {{card: string, after?: () => void, small?: boolean}} props
 */
export function OrderButton({ card, after, small = false }) {
  const open = useSignal(false);
  if (!mayOrder()) return null;
  const close = () => {
    open.value = false;
  };
  return html`
    <button
      class=${small ? "small" : ""}
      data-test="order"
      onClick=${() => {
        open.value = true;
      }}>
      ${say(small ? "order.short" : "order.ask")}
    </button>
    ${open.value && html`<${OrderDialog} card=${card} after=${after} close=${close} />`}
  `;
}
