// Numbers of a comparison as people read them, the fields they are asked with, its
// marks, and the answer in words.
import { html } from "../../lib/vendor/ui.js";
import { entry, fixed, typed } from "../../lib/numbers.js";
import { failed, note } from "../../lib/shell.js";
import { span } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {import("./state.js").Comparison} Comparison
 * @typedef {import("./state.js").ComparedRoute} ComparedRoute
 * Num is a figure as it is answered; null where it is not known.
 * @typedef {number | null | undefined} Num
 * Named is a route by what it is called.
 * @typedef {{name?: string, route_rev: string}} Named
 */

// Numbers of a comparison as people read them, with their units, and the small
// fields they are asked with.

/** @type {(x: Num, digits?: number) => string} */
export const num = (x, digits = 2) =>
  x === null || x === undefined || !Number.isFinite(x) ? say("none") : fixed(x, digits);
/** @param {Num} x */
export const whole = (x) => num(x, 0);
/** @type {(x: Num, digits?: number) => string} */
export const percent = (x, digits = 1) =>
  x === null || x === undefined ? say("none") : say("percent", num(100 * x, digits));
/**
 * minutes and hours are spans; a difference may be below zero.
 * @param {Num} x
 */
export const minutes = (x) =>
  x === null || x === undefined || !Number.isFinite(x)
    ? say("none")
    : (x < 0 ? "−" : "") + span(Math.abs(x) * 60000);
/** @type {(x: Num, currency: string | undefined, digits?: number) => string} */
export const money = (x, currency, digits = 2) => say("money", num(x, digits), currency);
/** @param {number | null} h */
export const hours = (h) => minutes(h === null ? null : 60 * h);
/** @param {number | null} y */
export const years = (y) =>
  y === null
    ? say("case.never")
    : y < 1.5
      ? say("case.months", num(12 * y, 0))
      : say("case.years", num(y, 1));

/**
 * title is what a route is called.
 * @param {Named} r
 */
export const title = (r) => (r.name === r.route_rev || !r.name ? say("compare.route", r.route_rev) : r.name);

/**
 * within is what it is called within a sentence.
 * @param {Named} r
 */
export const within = (r) =>
  r.name === r.route_rev || !r.name ? say("compare.route.in", r.route_rev) : say("compare.named", r.name);

/**
 * lineOf is the line that tells a route apart: by dash, and the one blue.
 * @param {number} i
 */
export const lineOf = (i) => ["", "blue-dashed", "dotted", "dashed"][i % 4];

/** @param {{i: number}} props */
export const Sample = ({ i }) =>
  html`<svg class="chart sample" width="40" height="12" aria-hidden="true">
    <line class=${"line " + lineOf(i)} x1="0" x2="40" y1="6" y2="6" />
  </svg>`;

/**
 * NumberField is a labelled number; set gets it when it is left.
 * @param {{
 *   label: unknown, value: number | string, set: (v: number) => void, test: string, step?: string,
 *   min?: number, max?: number, hint?: string
 * }} props
 */
export function NumberField({ label, value, set, test, step = "any", min = 0, max, hint }) {
  return html`<label>
    ${label}
    <input
      type="text"
      inputmode="decimal"
      value=${entry(value)}
      data-test=${test}
      onChange=${(/** @type {Input} */ e) => {
        const v = e.target.value.trim() === "" ? 0 : typed(e.target.value);
        const fits =
          v >= min &&
          (max === undefined || v <= max) &&
          (step === "any" || Number.isInteger(v / Number(step)));
        if (fits) set(v);
        else e.target.value = entry(value);
      }}
    />
    ${hint && html`<small>${hint}</small>`}
  </label>`;
}

/**
 * Pick is a labelled choice of [value, text].
 * @param {{
 *   label: string, value: string | undefined, options: [string, string][], set: (v: string) => void,
 *   test: string, wide?: boolean
 * }} props
 */
export const Pick = ({ label, value, options, set, test, wide }) => html`<label class=${wide ? "span2" : ""}>
  ${label}
  <select data-test=${test} onChange=${(/** @type {Input} */ e) => set(e.target.value)}>
    ${options.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`)}
  </select>
</label>`;

/**
 * Tabs are the pages of comparing.
 * @param {{part: string}} props
 */
export function Tabs({ part }) {
  const query = part ? "?part=" + encodeURIComponent(part) : "";
  return html`<nav class="tabs" aria-label=${say("compare.tabs")}>
    ${[
      ["/compare", "routes", query],
      ["/compare/change", "change", query],
      ["/compare/machine", "machine", ""],
    ].map(
      ([path, k, q]) => html`<a
        key=${k}
        href=${location.pathname === path ? location.href : path + q}
        aria-current=${location.pathname === path ? "page" : undefined}
        data-test=${"tab-" + k}>
        ${say("compare.tab." + k)}
      </a>`,
    )}
  </nav>`;
}

export const PrintButton = () =>
  html`<p class="deeds">
    <button class="quiet" data-test="print" onClick=${() => print()}>${say("trace.print")}</button>
  </p>`;

// Small things of the pages of comparing.

/**
 * Warn is something that someone should look at.
 * @param {{children?: unknown, test: string}} props
 */
export const Warn = ({ children, test }) =>
  html`<p class="warned" data-test=${test}>
    <svg class="shape" viewBox="0 0 16 16" aria-hidden="true"><path d="M8 1 16 15H0Z" /></svg>
    <span>${children}</span>
  </p>`;

/**
 * fetchFile asks for a file and hands it to the browser.
 * @param {string} path
 * @param {unknown} body
 * @param {string} name
 * @param {import("../../lib/vendor/ui.js").Signal<string>} busy the name of what is asked for
 */
export async function fetchFile(path, body, name, busy) {
  busy.value = name;
  try {
    const r = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      credentials: "same-origin",
      body: JSON.stringify(body),
    });
    if (!r.ok) {
      const p = await r.json().catch(() => null);
      throw new Error((p && p.detail) || say("net.odd", r.status));
    }
    const a = document.createElement("a"),
      url = URL.createObjectURL(await r.blob());
    a.href = url;
    a.download = name;
    a.click();
    setTimeout(() => URL.revokeObjectURL(url), 10000);
    note("good", say("compare.saved", name));
  } catch (err) {
    failed(err);
  } finally {
    busy.value = "";
  }
}

/**
 * Scroll lets what is wider than the screen be moved within itself.
 * @param {{children?: unknown}} props
 */
export const Scroll = ({ children }) => html`<div class="scroll" tabindex="0">${children}</div>`;

// What a comparison comes to, in sentences, and what it rests on.

/** @type {Record<string, string>} */
const shapes = {
  better: "M1 9 6 14 15 3",
  worse: "M3 3 13 13M13 3 3 13",
  same: "M2 6H14M2 11H14",
  either: "M3 5Q3 1 8 1T13 5Q13 8 8 9V11M8 13V15",
  unsure: "M3 5Q3 1 8 1T13 5Q13 8 8 9V11M8 13V15",
};

/** @param {{kind: string}} props */
export const Verdict = ({ kind }) =>
  html`<span class="verdict-mark" data-verdict=${kind}>
    <svg width="16" height="16" aria-hidden="true"><path d=${shapes[kind]} /></svg> ${say("verdict." + kind)}
  </span>`;

/** @param {{list: Schema["Sentence"][], route: ComparedRoute, first: ComparedRoute}} props */
function Against({ list, route, first }) {
  const cost = list.find((a) => a.about === "cost") || list[0];
  return html`<div class="answer" data-test="answer">
    <h3>
      ${say("compare.against", title(route), within(first))}${" "}
      ${cost.verdict && html`<${Verdict} kind=${cost.verdict} />`}
    </h3>
    ${list.map(
      (a, i) => html`<p key=${i} data-test=${"says-" + a.about} data-verdict=${a.verdict}>${a.say}</p>`,
    )}
  </div>`;
}

/**
 * Answer is the sentences, then what should be looked at.
 * @param {{v: Comparison}} props
 */
export function Answer({ v }) {
  const warned = v.notes.filter((n) => n.warn);
  return html`<section data-test="answers">
    <h2>${say("compare.answer")}</h2>
    ${v.routes.length < 2
      ? html`<p class="empty">${say("compare.one")}</p>`
      : v.routes
          .slice(1)
          .map(
            (r, i) =>
              html`<${Against}
                key=${i}
                route=${r}
                first=${v.routes[0]}
                list=${v.answer.filter((a) => a.route === i + 1)}
              />`,
          )}
    ${warned.map((n, i) => html`<${Warn} key=${i} test="warning">${n.say}<//>`)}
  </section>`;
}

/** @param {{v: Comparison}} props */
export const Notes = ({ v }) =>
  html`<section data-test="notes">
    <h2>${say("compare.rests")}</h2>
    <ul class="notes-list">
      ${v.notes.filter((n) => !n.warn).map((n, i) => html`<li key=${i}>${n.say}</li>`)}
    </ul>
  </section>`;
