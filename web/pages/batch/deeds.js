// What can be done about a batch at a desk: print its card, hold and free it,
// cancel it.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { Dialog } from "../../lib/form.js";
import { OrderButton } from "../../lib/order.js";
import { PrintTo } from "../../lib/print-to.js";
import { may } from "../../lib/shell.js";
import { desk, send } from "../../lib/shop.js";
import { say } from "../../lib/words.js";
import { Labels } from "./labels.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./asked.js").Batch} Batch
 * @typedef {import("./asked.js").Bad} Bad
 */

/** @param {{b: Batch, after: () => void, close: () => void}} props */
function HoldDialog({ b, after, close }) {
  const reason = useSignal("");
  const go = async (/** @type {Bad} */ bad) => {
    if (
      await send(desk("hold", b.card, { reason: reason.value.trim() }), {
        done: say("held.done"),
        after,
        bad,
      })
    )
      close();
  };
  return html`<${Dialog}
    title=${say("hold.title", b.works_order || b.card)}
    act=${say("hold")}
    go=${go}
    close=${close}>
    <label>
      ${say("hold.reason")}
      <input
        required
        maxlength="120"
        data-test="hold-reason"
        value=${reason.value}
        onInput=${(/** @type {Input} */ e) => {
          reason.value = e.target.value;
        }}
      />
    </label>
  <//>`;
}

/** @param {{b: Batch, after: () => void, close: () => void}} props */
function CancelDialog({ b, after, close }) {
  const reason = useSignal(""),
    stock = useSignal(/** @type {number | string} */ (Math.max(0, b.good - b.delivered)));
  const go = async (/** @type {Bad} */ bad) => {
    const scan = desk("cancel", b.card, { reason: reason.value.trim(), good: Number(stock.value) || 0 });
    if (await send(scan, { done: say("cancelled.done"), after, bad })) close();
  };
  return html`<${Dialog}
    title=${say("cancel.title", b.works_order || b.card)}
    act=${say("cancel.do")}
    go=${go}
    close=${close}>
    <p>${say("cancel.what")}</p>
    <label>
      ${say("cancel.reason")}
      <input
        required
        maxlength="120"
        data-test="cancel-reason"
        value=${reason.value}
        onInput=${(/** @type {Input} */ e) => {
          reason.value = e.target.value;
        }}
      />
    </label>
    <label>
      ${say("cancel.stock")}
      <input
        type="number"
        min="0"
        max="10000000"
        step="1"
        required
        data-test="cancel-stock"
        value=${stock.value}
        onInput=${(/** @type {Input} */ e) => {
          stock.value = e.target.value;
        }}
      />
    </label>
  <//>`;
}

/** @param {{b: Batch, after: () => void}} props */
export function Deeds({ b, after }) {
  const shown = useSignal("");
  const close = () => {
    shown.value = "";
  };
  const over = ["done", "cancelled"].includes(b.state);
  const free = () => send(desk("free", b.card), { done: say("freed.done"), after });
  const card = (/** @type {string} */ paper) =>
    html`<a
      class="button"
      data-test=${"card-" + paper}
      href=${`/api/v1/batches/${encodeURIComponent(b.card)}/card.pdf?paper=${paper}`}>
      ${say("card.print", paper)}
    </a>`;
  return html`
    <p class="deeds">
      ${card("A5")}
      ${card("A4")}
      <${PrintTo} kind="card" cards=${[b.card]} sizes=${["A5", "A4"]} title=${b.works_order || b.card} />
      <${Labels} b=${b} />
      ${!over && html`<${OrderButton} card=${b.card} after=${after} />`}
      ${may("verdict") &&
      b.state === "held" &&
      html`<button class="act" data-test="free" onClick=${free}>${say("free")}</button>`}
      ${may("verdict") &&
      b.state !== "held" &&
      !over &&
      html`<button
        data-test="hold"
        onClick=${() => {
          shown.value = "hold";
        }}>
        ${say("hold.ask")}
      </button>`}
      ${may("settle") &&
      !over &&
      html`<button
        data-test="cancel"
        onClick=${() => {
          shown.value = "cancel";
        }}>
        ${say("cancel.ask")}
      </button>`}
    </p>
    ${shown.value === "hold" && html`<${HoldDialog} b=${b} after=${after} close=${close} />`}
    ${shown.value === "cancel" && html`<${CancelDialog} b=${b} after=${after} close=${close} />`}
  `;
}
