// A mark that says that something needs a person: word, shape and colour. The station
// has it as the pages do.
import { html } from "./vendor/ui.js";
import { say } from "./words.js";

/** @type {Record<string, string>} */
const shapes = {
  hot: "M8 1 15 8H11L8 5 5 8H1Z M8 8 15 15H11L8 12 5 15H1Z", // goes first
  short: "M1 5H8V11H1Z M10 5H12V11H10Z M14 5H15V11H14Z", // runs out
  late: "M8 1 15 15H1Z", // up to a point
  held: "M1 1H15V15H1Z M4 7V9H12V7Z", // no entry
  stop: "M2 2H14V14H2Z",
  ask: "M8 1 15 8 8 15 1 8Z",
  info: "M8 2A6 6 0 1 0 8.01 2Z M8 5A3 3 0 1 1 7.99 5Z",
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
