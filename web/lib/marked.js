// A mark that says that something needs a person: word, shape and colour. The station
// has it as the pages do.
import { html } from "./vendor/ui.js";
import { say } from "./words.js";

/**
 * The marks, in a box of 16 by 16: each means one thing, everywhere, see needs.js.
 * @type {Record<string, string>}
 */
export const shapes = {
  hot: "M8 1 15 8H11L8 5 5 8H1Z M8 8 15 15H11L8 12 5 15H1Z", // goes first
  short: "M1 5H8V11H1Z M10 5H12V11H10Z M14 5H15V11H14Z", // runs out
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
 * Mark needs a person.
 * @param {{kind: string, children?: unknown}} props
 */
export const Mark = ({ kind, children }) =>
  html`<span class="mark" data-mark=${kind}><${Shape} kind=${kind} />${children}</span>`;

/** Hot says that a batch goes before all that is not, the same on every page. */
export const Hot = () => html`<${Mark} kind="hot">${say("hot")}<//>`;

/**
 * Short says how many pieces of those wanted can't come any more.
 * @param {{n: number | undefined}} props
 */
export const Short = ({ n }) => (n ? html`<${Mark} kind="short">${say("short", n)}<//>` : null);
