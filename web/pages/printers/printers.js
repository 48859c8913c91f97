// Printers on the network: add one by its address, see what it says, a test page, what is
// printed by itself, and what became of each document.
import { html, signal, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { del, get, post } from "../../lib/api.js";
import { Dialog, Form } from "../../lib/form.js";
import { At } from "../../lib/marks.js";
import { printing, printOn } from "../../lib/print-to.js";
import { failed, may, me, note, start } from "../../lib/shell.js";
import { count, known, say } from "../../lib/words.js";
import { Book } from "./book.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Printer"]} PrinterView
 * @typedef {Schema["Says"]} SaysView
 * @typedef {Schema["Print"]} Print
 */

const LOOK_MS = 2000; // how often it is asked how documents are
const ended = ["done", "failed", "cancelled", "unsure"];

const printers = signal(/** @type {Schema["Printers"] | null} */ (null));
const prints = signal(/** @type {Print[] | null} */ (null));

async function load() {
  [printers.value, { prints: prints.value }] = await Promise.all([
    get("/api/v1/printers"),
    get("/api/v1/prints"),
  ]);
}

/**
 * Troubles says what hinders, the worst first, and what to do about the worst.
 * @param {{list: Print["troubles"], size: string}} props
 */
function Troubles({ list, size }) {
  if (list.length === 0) return null;
  return html`<div class="trouble" data-test="trouble" data-trouble=${list[0]}>
    <b>${list.map((t) => say("trouble." + t, size)).join(", ")}.</b>${" "}
    <span>${say(`trouble.${list[0]}.do`, size)}</span>
  </div>`;
}

/** @param {{p: PrinterView, says: SaysView}} props */
function Says({ p, says }) {
  const sizes = says.sizes.length ? says.sizes.join(", ") : say("printers.sizes.none");
  const facts = [
    ["model", says.model],
    ["location", says.location],
    ["in", says.ready.join(", ")],
    ["takes", says.media.join(", ")],
    ["sizes", sizes],
  ];
  return html`<div data-test="printer-says">
    <${Troubles} list=${says.troubles} size="" />
    ${says.message && html`<p>${say("printers.says", says.message)}</p>`}
    ${says.answers &&
    html`
      <p>
        <b>${say(says.stopped ? "printers.stopped" : "printers.ready")}.</b>${" "}
        ${says.pdf ? say("printers.pdf") : say("printers.pdf.no", says.formats.join(", "))}
      </p>
      <dl class="facts">
        ${facts.filter(([, v]) => v).map(([k, v]) => html`<dt>${say("printers." + k)}</dt><dd>${v}</dd>`)}
      </dl>
      <p class="deeds">
        ${says.pdf &&
        says.sizes.map(
          (size) => html`<button
            key=${size}
            data-test=${"test-" + size}
            disabled=${printing.value}
            onClick=${() =>
              printOn(p.id, { kind: "test", size, title: say("prints.test") })
                .then(load)
                .catch(failed)}>
            ${say("printers.test", size)}
          </button>`,
        )}
      </p>
    `}
  </div>`;
}

/** @param {{p: PrinterView}} props */
function Printer({ p }) {
  const says = useSignal(/** @type {SaysView | null} */ (null)),
    busy = useSignal(false),
    asks = useSignal(false); // whether it is to be removed
  const ask = (/** @type {boolean} */ v) => {
    asks.value = v;
  };
  const check = async () => {
    busy.value = true;
    try {
      says.value = await get(`/api/v1/printers/${p.id}`);
    } catch (err) {
      failed(err);
    } finally {
      busy.value = false;
    }
  };
  const remove = async (/** @type {(text: string) => void} */ bad) => {
    try {
      await del("/api/v1/printers/" + p.id);
    } catch (err) {
      return bad(/** @type {Error} */ (err).message);
    }
    ask(false);
    note("good", say("printers.removed", p.name));
    await load().catch(failed);
  };
  return html`<section class="printer" data-test="printer" data-name=${p.name}>
    <h3>${p.name} <small class="soft">${p.address || p.model}</small></h3>
    <p class="deeds">
      <button data-test="check" disabled=${busy.value} onClick=${check}>${say("printers.how")}</button>
      ${may("accounts") &&
      html`<button data-test="remove" onClick=${() => ask(true)}>${say("printers.remove")}</button>`}
    </p>
    ${asks.value &&
    html`<${Dialog}
      title=${say("printers.remove.title", p.name)}
      act=${say("printers.remove")}
      go=${remove}
      close=${() => ask(false)}>
      <p>${say("printers.remove.what")}</p>
    <//>`}
    ${says.value && html`<${Says} p=${p} says=${says.value} />`}
  </section>`;
}

function Add() {
  const add = async (/** @type {Record<string, string>} */ v) => {
    const typed = v.address.trim(),
      address = typed.includes("://") ? typed : "ipp://" + typed;
    const made = await post("/api/v1/printers", { name: v.name.trim(), address });
    note("good", say("printers.added", made.name));
    await load();
  };
  const fields = [
    {
      name: "name",
      label: say("printers.name"),
      hint: say("printers.name.hint"),
      required: true,
      maxlength: 60,
    },
    {
      name: "address",
      label: say("printers.address"),
      hint: say("printers.address.hint"),
      required: true,
      spellcheck: false,
      autocapitalize: "off",
    },
  ];
  return html`
    <h2>${say("printers.add")}</h2>
    <${Form} test="printer" act=${say("printers.do")} clear go=${add} fields=${fields} />
  `;
}

/** @param {{list: PrinterView[], how: Schema["ByItself"]}} props */
function OnRelease({ list, how }) {
  const save = async (/** @type {Record<string, string>} */ v) => {
    await post("/api/v1/printing", { printer: v.printer, size: v.printer && v.size });
    note("good", say("printers.release.done"));
    await load();
  };
  const options = [["", say("printers.release.none")], ...list.map((p) => [p.id, p.name])];
  const fields = [
    { name: "printer", label: say("printers.release.on"), options, value: how.printer },
    {
      name: "size",
      label: say("printers.release.size"),
      options: ["A5", "A4", "A4x2"].map((s) => [s, say("paper." + s)]),
      value: how.size || "A5",
    },
  ];
  return html`
    <h2>${say("printers.release")}</h2>
    <p class="soft">${say("printers.release.what")}</p>
    <${Form} test="release" act=${say("printers.release.do")} go=${save} fields=${fields} />
  `;
}

/** @param {string} size */
const sizeName = (size) => known("paper." + size, size);
/** @param {Print} d */
const title = (d) => known("prints." + d.kind, d.title, d.title);

/** @param {{d: Print}} props */
function State({ d }) {
  return html`
    <b data-test="stage" data-stage=${d.stage}>${say("stage." + d.stage)}</b>
    ${(d.sheets ?? 0) > 0 && html`, ${count("prints.sheets", d.sheets ?? 0)}`}
    ${d.tries > 1 && html`, ${say("prints.tries", d.tries)}`}
    ${d.stage === "unsure" && html`<p>${say("stage.unsure.do")}</p>`}
    <${Troubles} list=${d.troubles} size=${sizeName(d.size)} />
    ${d.message && d.troubles.length > 0 && html`<p class="soft">${say("printers.says", d.message)}</p>`}
  `;
}

/**
 * Each button has a place of its own: a second tap on one never meets another.
 * @param {{d: Print}} props
 */
function Document({ d }) {
  const busy = useSignal(false);
  const act = async (/** @type {string} */ what) => {
    if (busy.value) return;
    busy.value = true;
    try {
      await post(`/api/v1/prints/${encodeURIComponent(d.id)}`, { do: what });
      await load();
    } catch (err) {
      failed(err);
    } finally {
      busy.value = false;
    }
  };
  /** @type {(what: string, can: boolean) => unknown} */
  const button = (what, can) =>
    html`<button
      data-test=${what}
      class=${can ? "" : "vacant"}
      disabled=${!can || busy.value}
      onClick=${() => act(what)}>
      ${say("prints." + what)}
    </button>`;
  const over = ended.includes(d.stage);
  return html`<tr data-test="print-row">
    <td data-label=${say("prints.what")}>
      ${title(d)} <small class="soft">${say("prints.on", d.printer_name || "", sizeName(d.size))}</small>
    </td>
    <td data-label=${say("prints.asked")}><${At} t=${d.asked} /> ${d.by || say("prints.released")}</td>
    <td data-label=${say("prints.state")}><${State} d=${d} /></td>
    <td>
      <p class="deeds">
        ${button("cancel", !over)} ${button("again", over)} ${d.stage === "unsure" && button("there", true)}
      </p>
    </td>
  </tr>`;
}

/** @param {{list: Print[]}} props */
function Documents({ list }) {
  if (list.length === 0) return html`<p class="empty">${say("prints.none")}</p>`;
  return html`<table class="stack">
    <thead>
      <tr>
        ${["what", "asked", "state"].map((k) => html`<th key=${k} scope="col">${say("prints." + k)}</th>`)}
        <td></td>
      </tr>
    </thead>
    <tbody>${list.map((d) => html`<${Document} key=${d.id} d=${d} />`)}</tbody>
  </table>`;
}

function Page() {
  useEffect(() => {
    load().catch(failed);
    const again = setInterval(() => {
      if (!document.hidden && prints.value?.some((d) => !ended.includes(d.stage))) load().catch(failed);
    }, LOOK_MS);
    return () => clearInterval(again);
  }, []);
  const all = printers.value;
  return html`
    <h1>${say("printers.title")}</h1>
    <p class="soft">${say("printers.what")}</p>
    ${all && all.printers.length === 0 && html`<p class="empty">${say("printers.none")}</p>`}
    ${all && all.printers.map((p) => html`<${Printer} key=${p.id} p=${p} />`)}
    ${all && may("accounts") && html`<${Add} />`}
    ${all &&
    may("accounts") &&
    all.printers.length > 0 &&
    html`<${OnRelease} key=${all.on_release.printer} list=${all.printers} how=${all.on_release} />`}
    <${Book} />
    ${prints.value &&
    html`<section><h2>${say("prints.title")}</h2><${Documents} list=${prints.value} /></section>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
