// The whole edge of the screen answers, at once and without flashing: a plain
// frame for what was accepted, a hatched one for what was refused, with a word;
// a thin grey one where more is asked.

import { html, signal } from '/static/vendor/ui.js';
import { sound } from './sound.js';
import { say } from './words.js';

const edge = signal(null);
let timer = 0;

const LASTS = { hear: 400, accept: 1200, ask: 2500, refuse: 4000 };

/** @param {'hear'|'accept'|'refuse'|'ask'} kind */
export function answer(kind, word) {
  clearTimeout(timer);
  edge.value = { kind, word };
  sound(kind);
  timer = setTimeout(() => (edge.value = null), LASTS[kind]);
}

export const accept = (word) => answer('accept', word || say('edge.kept'));
/** What was pressed was heard, and asks for more; nothing was said yet. */
export const hear = () => answer('hear', '');
export const refuse = (word) => answer('refuse', word || say('edge.refused'));
export const ask = (word) => answer('ask', word || say('edge.asked'));

/** The frame round the screen. */
export function Edge() {
  const e = edge.value;
  return html`<div class=${'edge ' + (e?.kind || '')} data-test="edge" data-kind=${e?.kind || ''} role="status" aria-live="assertive">
    ${e?.word && html`<span class="edge-word"><${Shape} kind=${e.kind} />${e.word}</span>`}
  </div>`;
}

/** A tick, an octagon with a bar, a diamond with a question mark. */
export function Shape({ kind }) {
  return html`<svg class=${'shape ' + kind} viewBox="0 0 24 24" aria-hidden="true">
    ${kind === 'accept' && html`<path class="stroke" d="M3 13l6 6L21 5" />`}
    ${kind === 'refuse' && html`<path class="fill" d="M8 1h8l7 7v8l-7 7H8l-7-7V8z" /><path class="mark" d="M6 12h12" />`}
    ${kind === 'ask' && html`<path class="fill" d="M12 0l12 12-12 12L0 12z" /><path class="mark" d="M9 9a3 3 0 1 1 4 3q-1 .5-1 2M12 17v1" />`}
  </svg>`;
}
