// What a page of history is about: part, route, customer, works order and a
// period, all in the address, so that a page can be sent on and comes back as it
// was.
import { html, signal } from "./vendor/ui.js";
import { now } from "./clock.js";
import { shop } from "./shop.js";
import { dayOf } from "./times.js";
import { say } from "./words.js";

/** @typedef {import("./_types.js").Input} Input */

const params = () => new URLSearchParams(location.search);

// chosen is the address as a page sees it; it changes when a filter does.
export const chosen = signal(Object.fromEntries(params()));

addEventListener("popstate", () => {
  chosen.value = Object.fromEntries(params());
});

/**
 * choose changes filters; empty ones go from the address.
 * @param {Record<string, string | number | null | undefined>} changes
 * @param {{replace?: boolean}} [props]
 */
export function choose(changes, { replace = false } = {}) {
  const q = params();
  for (const [k, v] of Object.entries(changes)) {
    if (v === "" || v === null || v === undefined) q.delete(k);
    else q.set(k, String(v));
  }
  const text = q.toString();
  history[replace ? "replaceState" : "pushState"](null, "", location.pathname + (text ? "?" + text : ""));
  chosen.value = Object.fromEntries(q);
}

/**
 * query is the address's filters for the API, those named.
 * @param {string[]} names
 * @param {Record<string, string>} [more]
 */
export function query(names, more = {}) {
  const q = new URLSearchParams();
  for (const n of names) if (chosen.value[n]) q.set(n, chosen.value[n]);
  for (const [k, v] of Object.entries(more)) if (v) q.set(k, v);
  return q.toString();
}

export const selection = ["part", "route_rev", "customer", "works_order", "from", "to"];

/** @type {Record<string, string>} */
const paper = {
  part: "filter.part",
  route_rev: "filter.route",
  customer: "filter.customer",
  works_order: "filter.works_order",
  from: "filter.from",
  to: "filter.to",
};

/** @type {(days: number) => string} */
const back = (days) => dayOf(now() - days * 86400e3);
/** @type {[string, number][]} */
const periods = [
  ["30", 30],
  ["91", 91],
  ["365", 365],
  ["1095", 1095],
  ["3650", 3650],
];

/** @param {{all: boolean}} props */
function Parts({ all }) {
  const parts = shop.value ? [...new Map(shop.value.parts.map((r) => [r.part, r.part_name])).entries()] : [];
  const revs = shop.value
    ? shop.value.parts.filter((r) => r.part === chosen.value.part).map((r) => r.route_rev)
    : [];
  return html`
    <label>
      ${say("filter.part")}
      <select
        data-test="filter-part"
        onChange=${(/** @type {Input} */ e) => choose({ part: e.target.value, route_rev: "" })}>
        ${all && html`<option value="" selected=${!chosen.value.part}>${say("filter.all-parts")}</option>`}
        ${parts.map(
          ([p, name]) =>
            html`<option key=${p} value=${p} selected=${p === chosen.value.part}>${p} ${name || ""}</option>`,
        )}
      </select>
    </label>
    ${chosen.value.part &&
    revs.length > 1 &&
    html`<label>
      ${say("filter.route")}
      <select
        data-test="filter-route"
        onChange=${(/** @type {Input} */ e) => choose({ route_rev: e.target.value })}>
        <option value="" selected=${!chosen.value.route_rev}>${say("filter.all-routes")}</option>
        ${revs.map(
          (r) => html`<option key=${r} value=${r} selected=${r === chosen.value.route_rev}>${r}</option>`,
        )}
      </select>
    </label>`}
  `;
}

/** @param {{most: number}} props */
function Period({ most }) {
  const { from = "", to = "" } = chosen.value,
    offered = periods.filter(([, days]) => days <= most);
  const preset = to ? "" : from ? (offered.find(([, d]) => back(d) === from) || ["own"])[0] : "365";
  const pick = (/** @type {string} */ v) => {
    if (v !== "own") choose({ from: v === "365" ? "" : back(Number(v)), to: "" });
  };
  return html`
    <label>
      ${say("filter.period")}
      <select data-test="filter-period" onChange=${(/** @type {Input} */ e) => pick(e.target.value)}>
        ${offered.map(
          ([k]) => html`<option key=${k} value=${k} selected=${k === preset}>${say("period." + k)}</option>`,
        )}
        <option value="own" selected=${preset === "" || preset === "own"}>${say("period.own")}</option>
      </select>
    </label>
    <label>
      ${say("filter.from")}
      <input
        type="date"
        value=${from}
        data-test="filter-from"
        onChange=${(/** @type {Input} */ e) => choose({ from: e.target.value })}
      />
    </label>
    <label>
      ${say("filter.to")}
      <input
        type="date"
        value=${to}
        data-test="filter-to"
        onChange=${(/** @type {Input} */ e) => choose({ to: e.target.value })}
      />
    </label>
  `;
}

/** @param {{name: string}} props */
const Text = ({ name }) =>
  html`<label>
    ${say("filter." + name)}
    <input
      value=${chosen.value[name] || ""}
      data-test=${"filter-" + name}
      onChange=${(/** @type {Input} */ e) => choose({ [name]: e.target.value.trim() })}
    />
  </label>`;

// OnPaper says on a printed page what was chosen, in place of the fields.
function OnPaper() {
  const c = chosen.value,
    said = Object.entries(paper)
      .filter(([k]) => c[k])
      .map(([k, word]) => `${say(word)}: ${c[k]}`);
  if (!c.from && !c.to) said.push(`${say("filter.period")}: ${say("period.365")}`);
  return html`<p class="only-print" data-test="filters-printed">${said.join("; ")}</p>`;
}

/**
 * Filters shows them; one: a part must be chosen; parts and texts: whether parts,
 * and customer and works order, are asked for; most: days that the server looks over at most.
 * @typedef {{one?: boolean, parts?: boolean, texts?: boolean, most?: number, children?: unknown}} Shown
 * @param {Shown} props
 */
export function Filters({ one = false, parts = true, texts = true, most = Infinity, children }) {
  void chosen.value;
  return html`
    <${OnPaper} />
    <form
      class="tools filters"
      data-test="filters"
      onSubmit=${(/** @type {Input} */ e) => e.preventDefault()}>
      ${parts && html`<${Parts} all=${!one} />`}
      ${texts && html`<${Text} name="customer" /><${Text} name="works_order" />`}
      <${Period} most=${most} />
      ${children}
    </form>
  `;
}
