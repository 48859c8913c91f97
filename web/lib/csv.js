// A table as CSV (RFC 4180), to open elsewhere. A cell that a spreadsheet would
// take for a formula is made harmless with an apostrophe.
import { html } from "./vendor/ui.js";
import { say } from "./words.js";

/** @param {unknown} v */
function cell(v) {
  let s = v === null || v === undefined ? "" : String(v);
  if (typeof v !== "number" && /^[=+\-@\t\r']/.test(s)) s = "'" + s;
  return /[",\r\n]/.test(s) ? `"${s.replaceAll('"', '""')}"` : s;
}

/**
 * @param {string[]} head
 * @param {unknown[][]} rows
 */
export const csvText = (head, rows) =>
  [head, ...rows].map((r) => r.map(cell).join(",")).join("\r\n") + "\r\n";

/**
 * CsvButton saves a table as a file; text is for where several stand together.
 * @param {{name: string, head: string[], rows: () => unknown[][], text?: string}} props
 */
export function CsvButton({ name, head, rows, text }) {
  const save = () => {
    const a = document.createElement("a");
    const url = URL.createObjectURL(
      new Blob(["\ufeff" + csvText(head, rows())], { type: "text/csv;charset=utf-8" }),
    );
    a.href = url;
    a.download = name + ".csv";
    a.click();
    setTimeout(() => URL.revokeObjectURL(url), 10000);
  };
  return html`<button class="quiet csv" data-test="csv" onClick=${save}>${text || say("csv")}</button>`;
}
