// When it happened: picked, not typed.

import { html, useState } from '/static/vendor/ui.js';
import { serverNow } from './clock.js';
import { boards, current, when } from './state.js';
import { clockTime, dayTime, span } from './times.js';
import { say } from './words.js';

const AGO = [5, 15, 30, 60]; // minutes

// What people remember by: the last break, the end of the last shift. A moment
// of another day says which.
function Earlier({ list }) {
  return list.map(({ kind, at }) => {
    const t = Date.parse(at);
    const time = serverNow() - t < 12 * 3600000 ? clockTime(t) : dayTime(t);
    return html`<button key=${kind} class="key small" data-test=${'when-' + kind} data-at=${at} aria-pressed=${when.value?.named === kind}
      onClick=${() => (when.value = { at: t, named: kind })}>${say('when.' + kind, time)}</button>`;
  });
}

export function When() {
  const [picking, setPicking] = useState(false);
  const w = when.value;
  if (picking) return html`<${Pick} done=${() => setPicking(false)} />`;
  const key = (on, word, test, set) => html`<button key=${test} class="key small" data-test=${test} aria-pressed=${on} onClick=${set}>${word}</button>`;
  return html`<div class="keys when" role="group" aria-label=${say('when.title')}>
    ${key(!w, say('when.now'), 'when-now', () => (when.value = null))}
    ${AGO.map((m) => key(w?.ago === m, say('when.ago', span(m * 60)), 'when-' + m, () => (when.value = { ago: m })))}
    <${Earlier} list=${boards.value[current.value]?.earlier || []} />
    ${key(!!w?.at && !w.named, w?.at && !w.named ? say('when.at', clockTime(w.at)) : say('when.pick'), 'when-pick', () => setPicking(true))}
  </div>`;
}

function Pick({ done }) {
  const [at, setAt] = useState(Math.floor(serverNow() / 60000) * 60000);
  const move = (min) => () => setAt(Math.min(serverNow(), at + min * 60000));
  return html`<div class="pick" data-test="when-picker">
    <output class="typed">${dayTime(at)}</output>
    <div class="keys">${[-1440, -60, -10, -1, 1, 10, 60, 1440].map((m) => html`<button key=${m} class="key" data-test=${'when' + m}
      onClick=${move(m)}>${m < 0 ? '−' : '+'} ${span(Math.abs(m) * 60)}</button>`)}</div>
    <button class="main" data-test="when-ok" onClick=${() => ((when.value = { at }), done())}>${say('when.ok', clockTime(at))}</button>
  </div>`;
}
