// The line at the top: machines, who is here, how the link stands.

import { html } from '/static/vendor/ui.js';
import { keeps } from './box.js';
import { later, link } from './outbox.js';
import { isSoon, leave } from './people.js';
import { goTo } from './flow.js';
import { boards, current, mine, operator, over, shop, tick } from './state.js';
import { say, sayCount, stateWord } from './words.js';

export function Bar() {
  return html`<header class="bar">
    <nav class="tabs">${mine.value.map((id) => html`<${Tab} key=${id} id=${id} />`)}</nav>
    <${Who} />
    <${Link} />
    ${later.value.length > 0 && html`<button class="key warn" data-test="later" onClick=${() => (over.value = 'answers')}>${say('answers', later.value.length)}</button>`}
    <button class="key" data-test="menu" onClick=${() => (over.value = over.value ? '' : 'menu')}>${say('menu')}</button>
  </header>`;
}

function Tab({ id }) {
  const m = shop.value.machines.find((x) => x.machine === id);
  const here = boards.value[id]?.here || [];
  const busiest = here.find((h) => h.visit_state === 'running') || here[0];
  return html`<button class=${'tab' + (current.value === id ? ' front' : '')} data-test=${'machine-' + id} aria-current=${current.value === id}
    onClick=${() => goTo(id)}><b>${id}</b><span>${busiest ? stateWord(busiest.visit_state) : m?.name}</span></button>`;
}

function Who() {
  tick.value;
  const o = operator.value;
  if (!o) return html`<span class="who none" data-test="operator">${say('badge.none')}</span>`;
  const soon = isSoon(o);
  return html`<button class=${'key who' + (soon ? ' warn' : '')} data-test="operator" onClick=${leave}>${say(soon ? 'badge.soon' : 'badge.out', o.name)}</button>`;
}

function Link() {
  const { alone, waiting, blocked } = link.value;
  let text = say('link.step');
  if (blocked && waiting) text = say('link.blocked', waiting, blocked);
  else if (alone) text = sayCount('link.alone', waiting);
  else if (waiting) text = say('link.sending', waiting);
  const off = alone || (blocked && waiting);
  return html`<span class=${'link' + (off ? ' off' : '')} data-test="link" data-waiting=${waiting} role="status">
    <svg class="shape" viewBox="0 0 24 24" aria-hidden="true">${off
      ? html`<path class="stroke" d="M3 12h5M16 12h5M9 7l6 10" />` : html`<path class="stroke" d="M3 12h18M7 8l-4 4 4 4M17 8l4 4-4 4" />`}</svg>
    ${text}${!keeps() && html`<b> ${say('link.memory')}</b>`}</span>`;
}
