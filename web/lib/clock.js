// The server's time, as far as this page knows it: measured now and again, and
// carried on by the monotonic clock, so that it stays right when someone puts
// the device's own clock right. In the demo it runs faster.
import { signal } from "./vendor/ui.js";

/**
 * Measured is what the server said its time was at a reading of performance.now,
 * all in ms.
 * @typedef {{server: number, perf: number, within: number}} Measured
 */

const SAVED = "tallywalk.clock";
const UNKNOWN_MS = 60000; // possible error of a clock that was never measured
const DRIFT = 50e-6; // a quartz clock loses or gains a few seconds a day
const JUMP_MS = 250;

/** @type {Measured | null} */
let known = null;
let pace = 1;
let base = Date.now() - performance.now();
let wasHidden = false;
let keeps = false;
let of = ""; // whose clock it is: the origin of a server; empty for the page's own
/** @type {() => Promise<unknown>} */
let askAgain = () => Promise.resolve();

// tick is now(), set again each second.
export const tick = signal(0);

/** now is the server's time in milliseconds since 1970. */
export function now() {
  notice();
  return known ? known.server + (performance.now() - known.perf) * pace : Date.now();
}

/** within is the possible error of now, in ms. */
export function within() {
  if (!known) return UNKNOWN_MS;
  return Math.ceil(known.within + (performance.now() - known.perf) * DRIFT);
}

/**
 * setPace says how fast the server's clock runs.
 * @param {number} p
 */
export function setPace(p) {
  pace = p > 0 ? p : 1;
}

/**
 * clockOf says whose clock it is from now on: what was measured of another server counts no
 * more.
 * @param {string} server its origin; empty for the page's own
 */
export function clockOf(server) {
  if (server !== of) known = null;
  of = server;
}

/**
 * setClock takes what the server said its time was, asked at and answered at
 * (readings of performance.now).
 * @param {string} iso
 * @param {number} asked
 * @param {number} answered
 */
export function setClock(iso, asked, answered) {
  const m = measurement(iso, asked, answered);
  if (!Number.isNaN(m.server)) take(m);
}

/** @type {(iso: string, asked: number, answered: number) => Measured} */
const measurement = (iso, asked, answered) => ({
  server: Date.parse(iso),
  perf: (asked + answered) / 2,
  within: ((answered - asked) / 2) * pace + 1,
});

/** @param {Measured} m */
function take(m) {
  known = m;
  tick.value = now();
  save();
}

/**
 * measure asks for the server's time several times and takes the middle answer.
 * @param {() => Promise<{now: string}>} ask
 */
export async function measure(ask) {
  const seen = [];
  for (let i = 0; i < 5; i++) {
    const asked = performance.now();
    const answer = await ask();
    seen.push(measurement(answer.now, asked, performance.now()));
  }
  const zero = (/** @type {Measured} */ m) => m.server - m.perf * pace;
  seen.sort((a, b) => zero(a) - zero(b));
  take(seen[2]);
}

/**
 * notBefore moves the clock on where the server is known to be further, as
 * after this device slept.
 * @param {string} iso
 */
export function notBefore(iso) {
  const t = Date.parse(iso);
  if (!(t - now() >= 1000 * pace)) return;
  take({ server: t, perf: performance.now(), within: known ? known.within : UNKNOWN_MS });
}

/** startClock sets tick each second from now on. */
export function startClock() {
  setInterval(() => {
    tick.value = now();
  }, 1000);
}

/**
 * keepClock remembers the clock in this device, and measures it again now and
 * then and whenever the device's own clock jumped.
 * @param {() => Promise<unknown>} again measures the clock
 */
export function keepClock(again) {
  keeps = true;
  askAgain = again;
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) wasHidden = true;
    else again().catch(() => {});
  });
  setInterval(() => again().catch(() => {}), 5 * 60000);
}

// notice looks whether the device's clock was set, or the device slept.
function notice() {
  const at = Date.now() - performance.now();
  const jump = at - base;
  if (Math.abs(jump) < JUMP_MS) {
    if (!globalThis.document?.hidden) wasHidden = false;
    return;
  }
  base = at;
  // On some devices the monotonic clock stands still while they sleep: then the
  // time that is missing passed for the server too.
  if (jump > 0 && wasHidden && known) known.server += jump * pace;
  if (!globalThis.document?.hidden) wasHidden = false;
  save();
  askAgain().catch(() => {});
}

function save() {
  if (!keeps || !known) return;
  const saved = { offset: now() - Date.now(), within: within(), at: Date.now(), of };
  localStorage.setItem(SAVED, JSON.stringify(saved));
}

/** recallClock takes what was known before, after a reload without a server. */
export function recallClock() {
  const s = JSON.parse(localStorage.getItem(SAVED) || "null");
  if (known || !s || pace !== 1 || (s.of || "") !== of) return;
  known = {
    server: Date.now() + s.offset,
    perf: performance.now(),
    within: s.within + Math.abs(Date.now() - s.at) * DRIFT + 1000,
  };
}

/** stamp is what a scan says of its time. */
export function stamp() {
  const server = now();
  const at = Date.now();
  return { at: new Date(at).toISOString(), offset_ms: Math.round(server - at), within_ms: within() };
}
