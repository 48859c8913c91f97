// The edge of the screen and the sounds answer at once what was read or pressed.
import { html, signal } from "../../web/lib/vendor/ui.js";
import { say } from "../../web/lib/words.js";

// Accept and refuse differ in rhythm as well as in pitch, so that they can be
// told apart in noise: two quick notes going up; three slow low ones.

/** @typedef {'hear'|'accept'|'refuse'|'ask'} Kind */

/** @type {AudioContext | undefined} */
let audio;
let quiet = localStorage.getItem("tallywalk.quiet") === "1";

// Browsers let a page sound only after someone touched it.
for (const type of ["pointerdown", "keydown"]) {
  document.addEventListener(type, () => audio?.state === "suspended" && audio.resume(), {
    capture: true,
    passive: true,
  });
}

/** @type {Record<string, [number, number, number][]>} */
const PATTERNS = {
  hear: [[0, 0.05, 660]],
  accept: [
    [0, 0.07, 880],
    [0.09, 0.1, 1320],
  ],
  refuse: [
    [0, 0.16, 196],
    [0.24, 0.16, 196],
    [0.48, 0.28, 147],
  ],
  ask: [
    [0, 0.1, 660],
    [0.2, 0.1, 660],
  ],
};

/** @param {'hear'|'accept'|'refuse'|'ask'} kind */
function sound(kind) {
  if (quiet) return;
  try {
    audio ??= new AudioContext({ latencyHint: "interactive" });
    if (audio.state === "suspended") audio.resume();
    for (const [at, length, hertz] of PATTERNS[kind]) note(audio, audio.currentTime + at, length, hertz);
  } catch {
    // A device without sound has the edge of the screen.
  }
}

/**
 * @param {AudioContext} on
 * @param {number} at
 * @param {number} length
 * @param {number} hertz
 */
function note(on, at, length, hertz) {
  const tone = on.createOscillator();
  const loud = on.createGain();
  tone.type = hertz < 400 ? "sawtooth" : "triangle";
  tone.frequency.value = hertz;
  loud.gain.setValueAtTime(0, at);
  loud.gain.linearRampToValueAtTime(0.5, at + 0.01);
  loud.gain.setValueAtTime(0.5, at + length - 0.02);
  loud.gain.linearRampToValueAtTime(0, at + length);
  tone.connect(loud).connect(on.destination);
  tone.start(at);
  tone.stop(at + length);
}

export const isQuiet = () => quiet;

/** @param {boolean} q */
export function setQuiet(q) {
  quiet = q;
  localStorage.setItem("tallywalk.quiet", q ? "1" : "");
}

// The whole edge of the screen answers, at once and without flashing: a plain
// frame for what was accepted, a hatched one for what was refused, with a word;
// a thin grey one where more is asked.

const edge = signal(/** @type {{kind: Kind, word: string} | null} */ (null));
let timer = 0;

/** @type {Record<string, number>} */
const LASTS = { hear: 400, accept: 1200, ask: 2500, refuse: 4000 };

/**
 * @param {Kind} kind
 * @param {string} word
 */
function answer(kind, word) {
  clearTimeout(timer);
  edge.value = { kind, word };
  sound(kind);
  timer = setTimeout(() => (edge.value = null), LASTS[kind]);
}

/** @param {string} [word] */
export const accept = (word) => answer("accept", word || say("edge.kept"));
/** What was pressed was heard, and asks for more; nothing was said yet. */
export const hear = () => answer("hear", "");
/** @param {string} [word] */
export const refuse = (word) => answer("refuse", word || say("edge.refused"));
/** @param {string} [word] */
export const ask = (word) => answer("ask", word || say("edge.asked"));

/** The frame round the screen. */
export function Edge() {
  const e = edge.value;
  return html`<div
    class=${"edge " + (e?.kind || "")}
    data-test="edge"
    data-kind=${e?.kind || ""}
    role="status"
    aria-live="assertive">
    ${e?.word &&
    html`<span class="edge-word"><${Shape} kind=${e.kind} /><span class="edge-text">${e.word}</span></span>`}
  </div>`;
}

/**
 * A tick, an octagon with a bar, a diamond with a question mark.
 * @param {{kind: Kind}} props
 */
export function Shape({ kind }) {
  return html`<svg class=${"shape " + kind} viewBox="0 0 24 24" aria-hidden="true">
    ${kind === "accept" && html`<path class="stroke" d="M3 13l6 6L21 5" />`}
    ${kind === "refuse" &&
    html`<path class="fill" d="M8 1h8l7 7v8l-7 7H8l-7-7V8z" /><path class="mark" d="M6 12h12" />`}
    ${kind === "ask" &&
    html`
      <path class="fill" d="M12 0l12 12-12 12L0 12z" />
      <path class="mark" d="M9 9a3 3 0 1 1 4 3q-1 .5-1 2M12 17v1" />
    `}
  </svg>`;
}
