// The server's time, as far as this device knows it. It is carried on by the
// monotonic clock, so that it stays right when someone puts the device's clock
// right; what a scan says as its offset follows by itself.

import { get } from './api.js';

const SAVED = 'tallywalk.clock';
const UNKNOWN_MS = 60000; // possible error of a clock that was never measured
const DRIFT = 50e-6; // a quartz clock loses or gains a few seconds a day

let known = null; // {server, perf, within}
let pace = 1; // of the demo's faster clock
let base = Date.now() - performance.now();
let wasHidden = false;

/** A demo's clock runs faster than ours. */
export function setPace(p) {
  pace = p > 0 ? p : 1;
}

/** Notices that the device's clock was set, or that the device slept. */
export function watchClock() {
  document.addEventListener('visibilitychange', () => {
    if (document.hidden) wasHidden = true;
    else measure().catch(() => {});
  });
  setInterval(notice, 1000);
  setInterval(() => measure().catch(() => {}), 5 * 60000);
}

function notice() {
  const now = Date.now() - performance.now();
  const jump = now - base;
  if (Math.abs(jump) < 250) {
    if (!document.hidden) wasHidden = false;
    return;
  }
  base = now;
  // On some devices the monotonic clock stands still while they sleep: then the
  // time that is missing passed for the server too.
  if (jump > 0 && wasHidden && known) known.server += jump * pace;
  if (!document.hidden) wasHidden = false;
  if (known) save();
  measure().catch(() => {});
}

/** Measures the server's clock several times and takes the middle one. */
export async function measure() {
  const seen = [];
  for (let i = 0; i < 5; i++) {
    const t0 = performance.now();
    const { now } = await get('/api/v1/clock');
    const t1 = performance.now();
    const middle = (t0 + t1) / 2;
    seen.push({ zero: Date.parse(now) - middle * pace, server: Date.parse(now), perf: middle, within: ((t1 - t0) / 2) * pace + 1 });
  }
  seen.sort((a, b) => a.zero - b.zero);
  const { server, perf, within } = seen[2];
  known = { server, perf, within };
  save();
}

function save() {
  const offset = serverNow() - Date.now();
  localStorage.setItem(SAVED, JSON.stringify({ offset, within: within(), at: Date.now() }));
}

/** After a reload without a server: what was known before. */
export function recallClock() {
  const s = JSON.parse(localStorage.getItem(SAVED) || 'null');
  if (known || !s || pace !== 1) return;
  known = { server: Date.now() + s.offset, perf: performance.now(), within: s.within + Math.abs(Date.now() - s.at) * DRIFT + 1000 };
}

function within() {
  if (!known) return UNKNOWN_MS;
  return Math.ceil(known.within + (performance.now() - known.perf) * DRIFT);
}

/** The server's time in milliseconds since 1970. */
export function serverNow() {
  notice();
  return known ? known.server + (performance.now() - known.perf) * pace : Date.now();
}

/** What a scan says of its time. */
export function stamp() {
  const server = serverNow();
  const at = Date.now();
  return { at: new Date(at).toISOString(), offset_ms: Math.round(server - at), within_ms: within() };
}
