// What is at the machine, and what waits for it.

import { html } from '/static/vendor/ui.js';
import { serverNow } from './clock.js';
import { openCard } from './flow.js';
import { useKeys } from './keys.js';
import { boards, current, machine, open, over, tick } from './state.js';
import { startTyping } from './type.js';
import { day, span } from './times.js';
import { say, sayCount, stateWord } from './words.js';

const WAITING_SHOWN = 4;

export function HereView() {
  useKeys((k) => {
    if (open.value || over.value || !/^[\w-]$/.test(k)) return false;
    startTyping(k);
    return true;
  }, () => (open.value || over.value ? '' : 'text'));
  const b = boards.value[current.value];
  const here = b?.here || [];
  const waiting = (b?.waiting || []).filter((w) => w.kind === 'wait' && !here.some((h) => h.card === w.card));
  return html`<section class="here" data-test="here">
    <p class="scan"><b>${say('here.scan')}</b> ${say('here.how')}
      <button class="key" data-test="open-type" onClick=${() => (over.value = 'type')}>${say('here.type')}</button></p>
    <h2>${say('here.title', machine.value?.name || current.value)}</h2>
    ${here.length === 0 && html`<p class="soft">${say('here.none')}</p>`}
    ${here.map((v) => html`<${Line} key=${v.card} v=${v} got=${b.got} />`)}
    <h2>${say('waits.title', b?.work_centre || '')}</h2>
    ${waiting.length === 0 && html`<p class="soft">${say('waits.none')}</p>`}
    ${waiting.slice(0, WAITING_SHOWN).map((w) => html`<${Wait} key=${w.key} w=${w} />`)}
    ${waiting.length > WAITING_SHOWN && html`<p class="soft">${sayCount('waits.more', waiting.length - WAITING_SHOWN)}</p>`}
  </section>`;
}

function Line({ v, got }) {
  const front = open.value?.card === v.card;
  return html`<button class=${'line' + (front ? ' front' : '') + (v.visit_state === 'stopped' ? ' needs' : '')} data-test=${'here-' + v.card}
    onClick=${() => openCard(v.card)}>
    <span class="line-head"><b>${v.works_order || v.card}</b><span class="state">${stateWord(v.visit_state)}</span></span>
    <span>${v.part} · ${say('batch.op', v.operation)}</span>
    <span class="big">${say('line.of', v.good, v.of)}</span>
    <${Scale} v=${v} got=${got} />
  </button>`;
}

/** So far and planned as two marks on one scale. */
export function Scale({ v, got }) {
  tick.value;
  const now = serverNow();
  const spent = v.spent_s + (v.visit_state && v.visit_state !== 'finished' && v.visit_state !== 'waiting' ? Math.max(0, (now - got) / 1000) : 0);
  if (!v.plan_s) {
    return v.since ? html`<span class="soft">${say('line.since', span((now - Date.parse(v.since)) / 1000))}</span>` : null;
  }
  const most = Math.max(spent, v.plan_s) * 1.05;
  const at = (s) => ({ left: `${Math.min(100, (s / most) * 100)}%` });
  const past = spent > v.plan_s;
  return html`<span class="scale" data-test="scale">
    <span class="scale-line"><i class="mark plan" style=${at(v.plan_s)}></i><i class=${'mark actual' + (past ? ' past' : '')} style=${at(spent)}></i></span>
    <span><i class=${'mark actual' + (past ? ' past' : '')}></i> ${say('plan.actual', span(spent))}</span>
    <span><i class="mark plan"></i> ${say('plan.planned', span(v.plan_s))}</span>
  </span>`;
}

function Wait({ w }) {
  tick.value;
  const since = Date.parse(w.since);
  return html`<button class="line thin" data-test=${'wait-' + w.card} onClick=${() => openCard(w.card)}>
    <span class="line-head"><b>${w.works_order || w.card}</b><span class="state">${say('line.since', span((serverNow() - since) / 1000))}</span></span>
    <span>${w.part} · ${say('batch.op', w.operation)} · ${sayCount('line.pieces', w.pieces)}${w.state !== 'waiting' ? ' · ' + stateWord(w.state) : ''}</span>
    ${w.due && html`<span class=${w.late ? 'late' : 'soft'}>${say(w.late ? 'line.late' : 'line.due', day(w.due))}</span>`}
  </button>`;
}
