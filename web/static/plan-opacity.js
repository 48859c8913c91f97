// How strongly the picture of the hall shows under the plan: a matter of taste and
// of the screen, so each browser keeps its own.
import {signal} from "/static/vendor/ui.js";

const kept = "tw.hall";
const read = () => {
  const n = Number(localStorage.getItem(kept) ?? NaN);
  return n >= 0 && n <= 1 && localStorage.getItem(kept) !== null ? n : 0.35;
};

export const opacity = signal(read());

export function setOpacity(n) {
  opacity.value = n;
  localStorage.setItem(kept, String(n));
}
