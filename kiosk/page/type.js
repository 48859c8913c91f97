// Letters and digits on the glass, for a code or a works order number.

import { html, useState } from '/static/vendor/ui.js';
import { openCard } from './flow.js';
import { useKeys } from './keys.js';
import { over } from './state.js';
import { say } from './words.js';

const ROWS = ['1234567890', 'ABCDEFGHIJ', 'KLMNOPQRST', 'UVWXYZ-/._'];

/** A pad of keys; ok is called with nothing. */
export function LetterPad({ value, set, ok, word, most = 60, back }) {
  const put = (ch) => value.length < most && set(value + ch);
  useKeys((k) => {
    if (k === 'key.ok') ok();
    else if (k === 'Backspace') set(value.slice(0, -1));
    else if (k === 'key.back' && back) back();
    else if (k.length > 1 && !k.startsWith('key.')) (set(k), ok(k));
    else if (k.length === 1) put(k.toUpperCase() === k.toLowerCase() ? k : k.toUpperCase());
    else return false;
    return true;
  }, 'text');
  return html`<div class="letters">
    <output class="typed" data-test="typed">${value || ' '}</output>
    <div class="letter-rows">${ROWS.map((row) => html`<div class="letter-row" key=${row}>${[...row].map((ch) => html`<button key=${ch} class="key" data-test=${'key-' + ch} onClick=${() => put(ch)}>${ch}</button>`)}</div>`)}</div>
    <div class="row">
      <button class="key" data-test="key-space" onClick=${() => put(' ')}>${say('pad.space')}</button>
      <button class="key" data-test="key-delete" onClick=${() => set(value.slice(0, -1))}>${say('pad.delete')}</button>
      ${back && html`<button class="key" data-test="back" onClick=${back}>${say('pad.back')}</button>`}
      <button class="main" data-test="typed-ok" disabled=${!value.trim()} onClick=${() => ok()}>${word}</button>
    </div>
  </div>`;
}

let first = '';

/** Opens the pad with the character that someone typed. */
export function startTyping(ch) {
  first = ch.toUpperCase();
  over.value = 'type';
}

/** Types a code or a works order. */
export function TypeView() {
  const [value, set] = useState(first);
  first = '';
  const ok = () => {
    const typed = value.trim();
    if (!typed) return;
    over.value = '';
    openCard(typed);
  };
  return html`<section class="panel" data-test="type">
    <h2>${say('pad.type.title')}</h2>
    <${LetterPad} value=${value} set=${set} ok=${ok} word=${say('pad.find')} back=${() => (over.value = '')} />
  </section>`;
}
