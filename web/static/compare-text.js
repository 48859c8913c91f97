// Numbers of a comparison as people read them, with their units, and the small
// fields they are asked with.
import {html} from "/static/vendor/ui.js";
import {locale, say} from "/static/words.js";

const formats = new Map();
export function num(x, digits = 2) {
  if (x === null || x === undefined || !Number.isFinite(x)) return say("none");
  const key = String(digits);
  if (!formats.has(key)) formats.set(key, new Intl.NumberFormat(locale, {minimumFractionDigits: digits, maximumFractionDigits: digits}));
  return formats.get(key).format(x).replace("-", "−");
}
export const whole = (x) => num(x, 0);
export const percent = (x, digits = 1) => (x === null || x === undefined ? say("none") : say("percent", num(100 * x, digits)));
export const minutes = (x) => say("compare.min", num(x, x === 0 ? 0 : Math.abs(x) < 10 ? 2 : Math.abs(x) < 100 ? 1 : 0));
export const money = (x, currency, digits = 2) => say("compare.money", num(x, digits), currency);
export const hours = (h) => (h === null ? say("none") : Math.abs(h) < 1 ? minutes(60 * h) : Math.abs(h) < 48 ? say("compare.h", num(h, 1)) : say("compare.d", num(h / 24, 1)));
export const years = (y) => (y === null ? say("case.never") : y < 1.5 ? say("case.months", num(12 * y, 0)) : say("case.years", num(y, 1)));

// title is what a route is called.
export const title = (r) => (r.name === r.route_rev || !r.name ? say("compare.route", r.route_rev) : r.name);

// within is what it is called within a sentence.
export const within = (r) => (r.name === r.route_rev || !r.name ? say("compare.route.in", r.route_rev) : say("compare.named", r.name));

// lines tell routes apart: by dash, and the one blue.
export const lineOf = (i) => ["", "blue-dashed", "dotted", "dashed"][i % 4];

export const Sample = ({i}) => html`<svg class="chart sample" width="40" height="12" aria-hidden="true"><line class=${"line " + lineOf(i)} x1="0" x2="40" y1="6" y2="6" /></svg>`;

// NumberField is a labelled number; set gets it when it is left.
export function NumberField({label, value, set, test, step = "any", min = 0, max, hint}) {
  return html`<label>${label}<input type="number" inputmode="decimal" step=${step} min=${min} max=${max} value=${value} data-test=${test}
    onChange=${(e) => { const v = Number(e.target.value); if (Number.isFinite(v) && v >= min && (max === undefined || v <= max)) set(v); else e.target.value = value; }} />${hint && html`<small>${hint}</small>`}</label>`;
}

// Pick is a labelled choice of [value, text].
export const Pick = ({label, value, options, set, test, wide}) => html`<label class=${wide ? "span2" : ""}>${label}<select data-test=${test} onChange=${(e) => set(e.target.value)}>
  ${options.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`)}</select></label>`;

// Tabs are the pages of comparing.
export function Tabs({part}) {
  const query = part ? "?part=" + encodeURIComponent(part) : "";
  return html`<nav class="tabs" aria-label=${say("compare.tabs")}>${[["/compare", "routes", query], ["/compare/change", "change", query], ["/compare/machine", "machine", ""]].map(([path, k, q]) => html`
    <a key=${k} href=${location.pathname === path ? location.href : path + q} aria-current=${location.pathname === path ? "page" : undefined} data-test=${"tab-" + k}>${say("compare.tab." + k)}</a>`)}</nav>`;
}

export const PrintButton = () => html`<p class="deeds"><button class="quiet" data-test="print" onClick=${() => print()}>${say("trace.print")}</button></p>`;
