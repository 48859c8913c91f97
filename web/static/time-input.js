// A time of day to be typed, on the 24-hour clock whatever the browser's own
// way of writing is: 6, 630 and 6:30 are understood.
import {html} from "/static/vendor/ui.js";

// tidy reads what was typed; what is no time stays as it is, to be told of.
export function tidy(text) {
  const m = /^(\d{1,2})(?:[:.]?(\d{2}))?$/.exec(text.trim());
  return m ? `${m[1].padStart(2, "0")}:${m[2] || "00"}` : text.trim();
}

export function TimeInput({value, set, ...more}) {
  return html`<input class="time" type="text" inputmode="numeric" maxlength="5" placeholder="06:00" autocomplete="off" value=${value} ...${more}
    onInput=${(e) => { if (/^\d\d:\d\d$/.test(e.target.value)) set(e.target.value); }} onChange=${(e) => set(tidy(e.target.value))} />`;
}
