// Drawings of what is pressed where, plain on purpose: they show the order of things,
// not how any maker draws them.
import { html } from "../../lib/vendor/ui.js";
import { say } from "../../lib/words.js";

const WIDE = 240,
  HIGH = 150,
  ROW = 34,
  LETTERS = 24; // that fit a row at full width

/**
 * A text in a row; a long one is drawn narrower, whatever the language.
 * @param {{text: string, x: string | number, y: string | number, most?: number, bold?: boolean}} props
 */
function Words({ text, x, y, most = LETTERS, bold = false }) {
  const narrow = text.length > most ? { textLength: most * 7.2, lengthAdjust: "spacingAndGlyphs" } : {};
  return html`<text x=${x} y=${y} class=${bold ? "bold" : ""} ...${narrow}>${text}</text>`;
}

/**
 * A fingertip: a ring around where it presses.
 * @param {{x: string | number, y: string | number}} props
 */
const Finger = ({ x, y }) => html`
  <circle class="touch" cx=${x} cy=${y} r="13" />
  <circle class="tip" cx=${x} cy=${y} r="5" />
`;

/** @type {(row: string, called?: string) => string} */
const word = (row, called) => (row === "called" ? called || "tallywalk" : say("trust.row." + row));

/** @param {{rows: string[], at: number, called: string}} props */
function List({ rows, at, called }) {
  return rows.map((row, i) => {
    const y = 24 + i * ROW;
    return html`
      <rect class=${i === at ? "row pressed" : "row"} x="16" y=${y} width="208" height=${ROW - 6} rx="3" />
      <${Words} text=${word(row, called)} x="24" y=${y + 19} bold=${i === at} />
      ${i === at && html`<${Finger} x=${206} y=${y + 14} />`}
    `;
  });
}

/** @param {{rows: string[], called: string}} props */
function Switch({ rows, called }) {
  return html`
    <rect class="row pressed" x="16" y="56" width="208" height="40" rx="3" />
    <${Words} text=${word(rows[0], called)} x="24" y="80" most=${18} bold />
    <rect class="on" x="172" y="66" width="40" height="20" rx="10" />
    <circle class="knob" cx="202" cy="76" r="8" />
    <${Finger} x="202" y="76" />
  `;
}

/** @param {{rows: string[], at: number}} props */
function Ask({ rows, at }) {
  return html`
    <path class="warn" d="M120 22 L138 54 H102 Z" />
    <path class="stroke" d="M120 32 V44 M120 48 V50" />
    ${rows.map((row, i) => {
      const y = 66 + i * 36;
      return html`
        <rect class=${i === at ? "row pressed" : "row"} x="36" y=${y} width="168" height="30" rx="3" />
        <${Words} text=${word(row)} x="46" y=${y + 20} most=${18} bold=${i === at} />
        ${i === at && html`<${Finger} x="186" y=${y + 15} />`}
      `;
    })}
  `;
}

const File = () => html`
  <path class="sheet" d="M88 20 H136 L156 40 V96 H88 Z M136 20 V40 H156" />
  <path class="stroke" d="M98 52 H144 M98 62 H144 M98 72 H124" />
  <circle class="seal" cx="136" cy="82" r="9" />
  <${Words} text="tallywalk.crt" x="80" y="114" />
  <path class="stroke" d="M120 118 V132 M113 126 L120 133 L127 126" />
`;

const Lock = () => html`
  <rect class="row" x="30" y="20" width="180" height="26" rx="13" />
  <${Words} text="https://" x="62" y="38" />
  <path class="stroke" d="M44 32 v-3 a4 4 0 0 1 8 0 v3" />
  <rect class="solid" x="42" y="32" width="12" height="9" rx="1" />
  <path class="tick" d="M92 92 L114 114 L152 68" />
`;

const Day = () => html`
  <rect class="sheet" x="30" y="30" width="90" height="90" rx="4" />
  <path class="stroke" d="M30 52 H120 M50 22 V38 M100 22 V38" />
  ${[0, 1, 2].map((r) =>
    [0, 1, 2, 3].map((c) => html`<circle class="dot" cx=${46 + c * 20} cy=${68 + r * 18} r="4" />`),
  )}
  <circle class="sheet" cx="174" cy="76" r="42" />
  <path class="stroke" d="M174 50 V76 L194 88" />
`;

/** @type {Record<string, (props: {rows: string[], at: number, called: string}) => unknown>} */
const KINDS = { list: List, switch: Switch, ask: Ask, file: File, lock: Lock, date: Day };

/**
 * A drawing of a step; the sentence beside it says the same, so it is not read aloud.
 * @param {{kind: string, rows?: string[], at?: number, called?: string}} props
 */
export function Picture({ kind, rows = [], at = 0, called = "" }) {
  const Drawn = KINDS[kind];
  return html`<svg class="picture" viewBox=${`0 0 ${WIDE} ${HIGH}`} aria-hidden="true">
    <rect class="glass" x="4" y="4" width=${WIDE - 8} height=${HIGH - 8} rx="10" />
    <${Drawn} rows=${rows} at=${at} called=${called} />
  </svg>`;
}
