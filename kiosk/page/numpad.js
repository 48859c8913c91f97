// Digits on the glass.

import { html } from '/static/vendor/ui.js';
import { say } from './words.js';

const MOST = 7; // digits

/** The value after a key; null when the key is none of the pad's. */
export function afterKey(value, k, all) {
  if (/^\d$/.test(k)) return value.length < MOST ? String(Number(value + k)) : value;
  if (k === 'Backspace') return value.slice(0, -1);
  if (k === 'key.all') return all > 0 ? String(all) : value;
  return null;
}

/** @param {{value: string, set: (v: string) => void, all: number}} p */
export function NumPad({ value, set, all }) {
  const press = (k) => () => set(afterKey(value, k, all));
  return html`<div class="numpad">
    ${[...'789456123'].map((d) => html`<button key=${d} class="key" data-test=${'digit-' + d} onClick=${press(d)}>${d}</button>`)}
    <button class="key word" data-test="digit-delete" onClick=${press('Backspace')}>${say('pad.delete')}</button>
    <button class="key" data-test="digit-0" onClick=${press('0')}>0</button>
    <button class="key word" data-test="digit-all" disabled=${!(all > 0)} onClick=${press('key.all')}>${say('pad.all', all > 0 ? all : '')}</button>
  </div>`;
}
