// Small things that many pages show: a mark that says that something needs a
// person (word, shape and colour), a batch's link, a time that goes on.
import { html, useComputed } from "./vendor/ui.js";
import { tick } from "./clock.js";
import { dateText, daysBetween, elapsed, full, moment } from "./times.js";
import { say } from "./words.js";

/**
 * The marks, in a box of 16 by 16: each means one thing, everywhere, see needs.js.
 * @type {Record<string, string>}
 */
export const shapes = {
  late: "M8 1 15.5 15H0.5Z", // up to a point
  soon: "M8 1 15.5 15H0.5Z M8 5.4 4 13H12Z", // the same, hollow
  stop: "M2 2H14V14H2Z",
  held: "M8 1A7 7 0 1 0 8.01 1Z M3.6 6.6V9.4H12.4V6.6Z", // no entry
  ask: "M8 0.5 15.5 8 8 15.5 0.5 8Z",
  over: "M2 1H14V3.4L9.6 8 14 12.6V15H2V12.6L6.4 8 2 3.4Z", // the glass has run out
  long: "M8 1A7 7 0 1 0 8.01 1Z M7 3.6H9.2V7.4H12.6V9.6H7Z", // a clock
  gone: "M3.2 1 8 5.8 12.8 1 15 3.2 10.2 8 15 12.8 12.8 15 8 10.2 3.2 15 1 12.8 5.8 8 1 3.2Z", // no link
};

/** @param {{kind: string}} props */
export const Shape = ({ kind }) =>
  html`<svg class="shape" viewBox="0 0 16 16" aria-hidden="true">
    <path fill-rule="evenodd" d=${shapes[kind]} />
  </svg>`;

/**
 * Mark needs a person; Hint is worth knowing and stays grey.
 * @param {{kind: string, children?: unknown}} props
 */
export const Mark = ({ kind, children }) =>
  html`<span class="mark" data-mark=${kind}><${Shape} kind=${kind} />${children}</span>`;
/** @param {{children?: unknown}} props */
export const Hint = ({ children }) => html`<span class="hint">${children}</span>`;

/**
 * Needs are the marks of what needs someone, each with its word.
 * @param {{kinds: string[], text: (kind: string) => unknown}} props
 */
export const Needs = ({ kinds, text }) =>
  html`${kinds.map((k) => html`<${Mark} key=${k} kind=${k}>${text(k)}<//> `)}`;

/**
 * Gone is the time since a moment; it moves on its own.
 * @param {{since: string}} props
 */
export function Gone({ since }) {
  const t = Date.parse(since);
  const text = useComputed(() => (t > 0 ? elapsed(tick.value - t) : say("none")));
  return html`<time datetime=${since} title=${full(since)}>${text}</time>`;
}

/** @param {{t: string}} props */
export const At = ({ t }) => html`<time datetime=${t} title=${full(t)}>${moment(t)}</time>`;

/**
 * Due is a due date, and by how many days it is late.
 * @param {{due?: string, today: string, late?: boolean}} props
 */
export function Due({ due, today, late }) {
  if (!due) return html`<span class="soft">${say("due.none")}</span>`;
  return html`<span class="due">
    ${dateText(due)} ${late && html`<${Mark} kind="late">${say("late.days", daysBetween(due, today))}<//>`}
  </span>`;
}

/**
 * BatchLink leads to a batch's story, by works order where it has one.
 * @param {{row: import("./types.js").Linked, short?: boolean}} props
 */
export function BatchLink({ row, short }) {
  return html`<a
    class="batch"
    href=${"/batch/" + encodeURIComponent(row.card)}
    data-test="batch-link"
    data-card=${row.card}>
    <b class=${whole(row.works_order || row.card)}>${row.works_order || row.card}</b>
    ${row.works_order && !short && html` <small class="whole">${row.card}</small>`}
  </a>`;
}

/**
 * whole keeps a number of ordinary length on one line: broken at a hyphen it reads
 * as two. What is longer than a column may break.
 * @param {string} number
 */
const whole = (number) => (number.length <= 18 ? "whole" : "");

/** @param {{row: {part: string, part_name?: string}}} props */
export const Part = ({ row }) =>
  html`<span class="part">
    <span class=${whole(row.part)}>${row.part}</span>
    ${row.part_name && html` <small>${row.part_name}</small>`}
  </span>`;

/**
 * Figure is a number of a list of them, with its name and what it rests on.
 * @param {{name: string, value: unknown, why?: unknown, test: string}} props
 */
export const Figure = ({ name, value, why, test }) =>
  html`<div data-test=${test}><dt>${name}</dt><dd>${value}${why && html`<small>${why}</small>`}</dd></div>`;
