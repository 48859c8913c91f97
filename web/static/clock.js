// The shop's clock as this page knows it: the server's time, measured once and
// then carried on by the browser's own steady clock. In the demo it runs faster.
import {signal} from "/static/vendor/ui.js";

let base = Date.now(), mark = performance.now(), pace = 1;

export const within = signal(0); // possible error of now(), in ms of the shop's time
export const tick = signal(0); // now(), again each second

export const now = () => base + (performance.now() - mark) * pace;
export const setPace = (p) => { pace = p > 0 ? p : 1; };

// setClock takes what the server said its time was, asked at and answered at
// (readings of performance.now).
export function setClock(iso, asked, answered) {
  const t = Date.parse(iso);
  if (Number.isNaN(t)) return;
  base = t;
  mark = (asked + answered) / 2;
  within.value = Math.ceil(((answered - asked) / 2) * pace);
  tick.value = now();
}

// notBefore moves the clock on where the server is known to be further, as
// after this device slept.
export function notBefore(iso) {
  const t = Date.parse(iso);
  if (t - now() < 1000 * pace) return;
  base = t;
  mark = performance.now();
  tick.value = now();
}

setInterval(() => { tick.value = now(); }, 1000);
