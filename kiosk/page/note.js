// A note, by the keyboard of the device, for those who want to write one.

import { html, useState } from '/static/vendor/ui.js';
import { note } from './state.js';
import { say } from './words.js';

export function NoteField({ step, asks }) {
  const must = step.reason === 'concession';
  const [shown, show] = useState(must);
  if (!shown) return html`<button class="key small" data-test="note-add" onClick=${() => show(true)}>${say('pad.note.add')}</button>`;
  return html`<label class=${'note' + (must && asks && !note.value ? ' over' : '')}>${say(must ? 'pad.note.reference' : 'pad.note')}
    <input data-test="note" maxlength="500" value=${note.value} onInput=${(e) => (note.value = e.target.value)} /></label>`;
}
