// Light or dark on a wall screen: as it is set, or by the shop's clock.
import {effect} from "/static/vendor/ui.js";
import {tick} from "/static/clock.js";
import {localText} from "/static/times.js";

// themeAt is light or dark at a time of day such as 18:30; the dark hours may
// pass midnight.
export function themeAt(s, time) {
  const dark = s.dark <= s.light ? time >= s.dark && time < s.light : time >= s.dark || time < s.light;
  return dark ? "dark" : "light";
}

let stop = () => {};

// keepTheme sets the colours, and by the clock changes them when it is time.
export function keepTheme(s) {
  stop();
  stop = () => {};
  const root = document.documentElement;
  if (s.theme !== "clock") {
    if (s.theme !== "auto") root.dataset.theme = s.theme;
    return;
  }
  stop = effect(() => {
    const next = themeAt(s, localText(tick.value).slice(11, 16));
    if (root.dataset.theme !== next) root.dataset.theme = next;
  });
}
