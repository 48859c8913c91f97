// Small things that many pages show: marks, a batch's link, a time that goes on.
import { html, useComputed } from "./vendor/ui.js";
import { tick } from "./clock.js";
import { Mark } from "./marked.js";
import { dateText, daysBetween, elapsed, full, moment } from "./times.js";
import { say } from "./words.js";

export { Hot, Mark, Shape, shapes, Short } from "./marked.js";

/**
 * Hint is worth knowing and stays grey.
 * @param {{children?: unknown}} props
 */
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
 * @param {{row: import("./_types.js").Linked, short?: boolean}} props
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
