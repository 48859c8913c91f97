// Labels for boxes of a batch: what is in the box, the size, and where to.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { Dialog } from "../../lib/form.js";
import { PrintTo } from "../../lib/print-to.js";
import { say } from "../../lib/words.js";

/** @typedef {import("../../lib/_types.js").Input} Input */

const kinds = ["box", "review", "rework", "scrap", "delivery", "outside"];
const sizes = ["100x50", "100x150", "62"];

/** @param {{name: string, value: string, of: string[], set: (v: string) => void}} props */
function Choice({ name, value, of, set }) {
  return html`<label>
    ${say("label." + name)}
    <select data-test=${"label-" + name} onChange=${(/** @type {Input} */ e) => set(e.target.value)}>
      ${of.map(
        (v) =>
          html`<option key=${v} value=${v} selected=${v === value}>${say(`label.${name}.${v}`)}</option>`,
      )}
    </select>
  </label>`;
}

/**
 * Labels offers them beside the card.
 * @param {{b: import("./asked.js").Batch}} props
 */
export function Labels({ b }) {
  const open = useSignal(false),
    kind = useSignal("box"),
    size = useSignal("100x50"),
    pieces = useSignal("");
  /** @type {<T>(s: import("../../lib/vendor/ui.js").Signal<T>) => (v: T) => void} */
  const set = (s) => (v) => {
    s.value = v;
  };
  const close = set(open).bind(null, false);
  const go = () => {
    const q = new URLSearchParams({ kind: kind.value, size: size.value });
    if (pieces.value) q.set("pieces", pieces.value);
    window.open(`/api/v1/batches/${encodeURIComponent(b.card)}/label.pdf?${q}`);
    close();
  };
  return html`
    <button data-test="labels" onClick=${() => set(open)(true)}>${say("label.do")}</button>
    ${open.value &&
    html`<${Dialog}
      title=${say("label.title", b.works_order || b.card)}
      act=${say("label.open")}
      go=${go}
      close=${close}>
      <${Choice} name="kind" value=${kind.value} of=${kinds} set=${set(kind)} />
      <${Choice} name="size" value=${size.value} of=${sizes} set=${set(size)} />
      <label>
        ${say("label.pieces")}
        <input
          data-test="label-pieces"
          inputmode="numeric"
          type="number"
          min="1"
          value=${pieces.value}
          onInput=${(/** @type {Input} */ e) => set(pieces)(e.target.value)}
        />
        <small class="soft">${say("label.pieces.hint")}</small>
      </label>
      <p class="soft">${say("label.caution")}</p>
      <${PrintTo}
        kind="label"
        label=${kind.value}
        cards=${[b.card]}
        sizes=${[size.value]}
        title=${say("label.kind." + kind.value)}
      />
    <//>`}
  `;
}
