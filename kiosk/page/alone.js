// What the station shows of a batch while the server does not answer: the last
// view it had, carried on by what was said since; else the plain steps.

import { boards, current } from './state.js';

const STEP = {
  arrive: { action: 'arrive', key: 'arrive', needs: '' },
  setup: { action: 'setup', key: 'setup', needs: '' },
  firstoff: { action: 'firstoff', key: 'firstoff', needs: '' },
  run: { action: 'run', key: 'run', needs: '' },
  count: { action: 'count', key: 'count', needs: 'counts' },
  finish: { action: 'finish', key: 'finish', needs: 'counts' },
  stop: { action: 'stop', key: 'stop', needs: 'reason:stop' },
};

// What most likely follows an action.
const NEXT = {
  '': ['setup', 'run', 'arrive', 'count', 'finish', 'stop'],
  arrive: ['setup', 'run', 'count', 'finish', 'stop'],
  setup: ['run', 'firstoff', 'stop', 'count', 'finish'],
  firstoff: ['run', 'setup', 'count', 'stop', 'finish'],
  run: ['count', 'finish', 'stop', 'setup'],
  count: ['count', 'finish', 'stop', 'setup'],
  stop: ['run', 'count', 'finish', 'setup'],
  finish: ['arrive', 'setup', 'run', 'count'],
};

const STATE = { setup: 'setting', run: 'running', count: 'running', stop: 'stopped', firstoff: 'firstoff', finish: 'finished', arrive: 'waiting' };

function stepsAfter(action, aim = {}) {
  return (NEXT[action] || NEXT['']).map((k, i) => ({ ...STEP[k], ...aim, likely: i === 0 }));
}

/** What this station saw of a card last, at the machine in front. */
export function knownView(ref) {
  const b = boards.value[current.value];
  const v = b?.here.find((x) => x.card === ref || x.works_order === ref);
  return v && { ...v, got: b.got, alone: true };
}

/** What can be said of any card. */
export function plainView(ref) {
  return { card: ref, alone: true, steps: stepsAfter('') };
}

/** A view carried on by what was said of it. */
export function predicted(view, scan) {
  if (!NEXT[scan.action]) return { ...view, alone: true };
  const n = (l) => (l || []).reduce((sum, x) => sum + x.n, 0);
  const counted = (scan.good || 0) + (scan.missing || 0) + n(scan.scrap) + n(scan.rework) + n(scan.review);
  const aim = view.operation ? { operation: view.operation, for: scan.for } : {};
  return {
    ...view, alone: true, visit_state: STATE[scan.action], good: (view.good || 0) + (scan.good || 0),
    left: view.left === undefined ? undefined : Math.max(0, view.left - counted), steps: stepsAfter(scan.action, aim),
  };
}
