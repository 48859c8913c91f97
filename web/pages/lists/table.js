// A list typed in a table: what stands in it now, lines to add, cells to paste into.
import { html } from "../../lib/vendor/ui.js";
import { say } from "../../lib/words.js";
import { laid, pasted } from "./cells.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema["ListColumn"]} Column
 */

const WIDEST = 40; // characters of a column

/** @param {{columns: Column[], rows: string[][], set: (rows: string[][]) => void}} props */
export function Table({ columns, rows, set }) {
  /** @type {(i: number, j: number, value: string) => void} */
  const put = (i, j, value) =>
    set(rows.map((r, k) => (k === i ? r.map((c, n) => (n === j ? value : c)) : r)));
  /** @type {(i: number, j: number) => (e: ClipboardEvent) => void} */
  const paste = (i, j) => (e) => {
    const cells = pasted(e.clipboardData?.getData("text") ?? "");
    if (!cells) return;
    e.preventDefault();
    set(laid(rows, cells, { row: i, column: j, width: columns.length }));
  };
  // As wide as what stands in it, so that names are not cut and numbers take no more than they need.
  const wide = columns.map((c, j) =>
    Math.min(WIDEST, Math.max(c.name.length + 1, ...rows.map((r) => (r[j] || "").length))),
  );
  return html`
    <div class="sheet">
      <table data-test="sheet">
        <thead>
          <tr>
            <td></td>
            ${columns.map((c) => html`<th key=${c.name} scope="col">${c.name}${c.needed ? " *" : ""}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${rows.map(
            (r, i) =>
              html`<tr key=${i} data-test="sheet-row">
                <td>
                  <button
                    type="button"
                    class="small"
                    aria-label=${say("lists.row.remove", i + 1)}
                    onClick=${() => set(rows.filter((_, k) => k !== i))}>
                    ×
                  </button>
                </td>
                ${columns.map(
                  (c, j) =>
                    html`<td key=${c.name}>
                      <input
                        aria-label=${`${c.name} ${i + 1}`}
                        data-test=${`cell-${i}-${c.name}`}
                        size=${wide[j]}
                        value=${r[j] || ""}
                        maxlength="500"
                        onInput=${(/** @type {Input} */ e) => put(i, j, e.target.value)}
                        onPaste=${paste(i, j)}
                      />
                    </td>`,
                )}
              </tr>`,
          )}
        </tbody>
      </table>
    </div>
    <p class="deeds">
      <button type="button" data-test="row-add" onClick=${() => set([...rows, columns.map(() => "")])}>
        ${say("lists.row.add")}
      </button>
    </p>
  `;
}
