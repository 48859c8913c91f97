import assert from 'node:assert/strict';
import test from 'node:test';
import { happened, lapsed, LAPSE_MS, LAPSE_PAD_MS } from './ago.js';
import { day, minutes, span } from './times.js';

const [MIN, H, D] = [60, 3600, 86400];

test('spans have their two largest units, rounded and never cut', () => {
  for (const [s, want] of [
    [0, '0 s'], [59.4, '59 s'], [59.6, '1 min'], [90, '1 min 30 s'], [599, '9 min 59 s'], [600, '10 min'],
    [34 * MIN + 40, '35 min'], [59 * MIN + 40, '1 h'], [525 * MIN, '8 h 45 min'], [89 * MIN + 59, '1 h 30 min'],
    [23 * H + 59 * MIN + 50, '1 d'], [47 * H, '1 d 23 h'], [13 * D + 21 * H + 40 * MIN, '13 d 22 h'], [7 * D, '7 d'], [-3, '0 s'],
  ]) assert.equal(span(s), want, `${s} s`);
  assert.equal(minutes(525), '8 h 45 min');
});

test('dates are said as the shop says them', () => {
  assert.equal(day('2026-12-03').replaceAll('\u00a0', ' '), 'Thu 3 Dec');
  assert.equal(day('soon'), 'soon');
});

test('a picked time is for what is said next, and lapses', () => {
  const w = { ago: 5, set: 1000 };
  assert.equal(lapsed(w, 1000 + LAPSE_MS - 1, false), false);
  assert.ok(lapsed(w, 1000 + LAPSE_MS, false));
  assert.equal(lapsed(w, 1000 + LAPSE_MS, true), false, 'counting takes longer');
  assert.ok(lapsed(w, 1000 + LAPSE_PAD_MS, true));
  assert.equal(lapsed(null, 1e9, false), false);
});

test('what was picked is said as a moment', () => {
  const now = Date.UTC(2026, 10, 25, 10, 0);
  assert.deepEqual(happened(null, now), {});
  assert.deepEqual(happened({ ago: 5, set: 0 }, now), { happened: '2026-11-25T09:55:00.000Z' });
  assert.deepEqual(happened({ at: now - 3600000, set: 0 }, now), { happened: '2026-11-25T09:00:00.000Z' });
});
