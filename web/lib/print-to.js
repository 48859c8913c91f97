// Printing straight to a printer of the shop: a choice of printers and a button, where
// there are any.
import { html, signal, useEffect } from "./vendor/ui.js";
import { get, post } from "./api.js";
import { once } from "./once.js";
import { failed, may, note } from "./shell.js";
import { say } from "./words.js";

/** @typedef {import("./_types.js").Input} Input */

const printers = signal(/** @type {{id: string, name: string}[] | null} */ (null));
const usual = "tw.printer"; // the one that was chosen last on this device

/** @returns {string} */
function chosen() {
  const last = localStorage.getItem(usual) ?? "",
    all = printers.value ?? [];
  return all.some((p) => p.id === last) ? last : (all[0]?.id ?? "");
}

// mayPrint: who works or releases, not who only looks.
const mayPrint = () => may("scan") || may("release");

async function load() {
  if (printers.value || !mayPrint()) return;
  printers.value = (await get("/api/v1/printers")).printers;
}

export const printing = signal(false); // something is being sent to a printer

/**
 * printOn sends something to a printer; kind, cards and size are as the API has them.
 * @param {string} printer
 * @param {{kind: string, label?: string, cards?: string[], size: string, title: string}} what
 */
export async function printOn(printer, { kind, label, cards, size, title }) {
  if (printing.value) return;
  printing.value = true;
  const what = { printer, kind, label, cards, size };
  let sent;
  try {
    sent = await once(what, (id) => post("/api/v1/prints", { id, ...what }));
  } finally {
    printing.value = false;
  }
  note("good", say("print.sent", title, sent.printer_name), {
    label: say("print.see"),
    run: () => location.assign("/printers"),
  });
}

/**
 * PrintTo offers the shop's printers; it is nothing where there are none.
 * @param {{kind: string, label?: string, cards: string[], sizes: string[], title: string}} props
 */
export function PrintTo({ kind, label, cards, sizes, title }) {
  useEffect(() => {
    load().catch(failed);
  }, []);
  if (!printers.value || printers.value.length === 0) return null;
  const go = (/** @type {string} */ size) =>
    printOn(chosen(), { kind, label, cards, size, title }).catch(failed);
  return html`<span class="print-to" data-test="print-to">
    <label>
      ${say("print.do")}
      <select
        data-test="print-printer"
        onChange=${(/** @type {Input} */ e) => localStorage.setItem(usual, e.target.value)}>
        ${printers.value.map(
          (p) => html`<option key=${p.id} value=${p.id} selected=${p.id === chosen()}>${p.name}</option>`,
        )}
      </select>
    </label>
    ${sizes.map(
      (s) =>
        html`<button
          key=${s}
          type="button"
          data-test=${"print-on-" + s}
          disabled=${printing.value}
          onClick=${() => go(s)}>
          ${s}
        </button>`,
    )}
  </span>`;
}
