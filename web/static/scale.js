// Planned and actual as two marks on one scale: a hollow mark for the plan, a
// solid one for what is. What goes past the plan is drawn thick.
import {html} from "/static/vendor/ui.js";

const at = (v, top) => `${(Math.min(v, top) / top) * 100}%`;

// Scale draws both from zero; the two numbers have one unit. label says it all
// in words.
export function Scale({planned, actual, label}) {
  const top = Math.max(planned, actual, 1e-9);
  const over = actual > planned && planned > 0;
  const p = at(planned, top), a = at(actual, top);
  return html`<svg class=${over ? "scale over" : "scale"} role="img" aria-label=${label} width="100%" height="22"><title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="15" y2="15" />
    <line class="so-far" x1="0" x2=${over ? p : a} y1="15" y2="15" />
    ${over && html`<line class="past" x1=${p} x2=${a} y1="15" y2="15" />`}
    ${planned > 0 && html`<svg x=${p} y="15" overflow="visible"><path class="planned" d="M0 0V-13M-5 -13H5L0 -6Z" /></svg>`}
    <circle class="actual" cx=${a} cy="15" r="5" /></svg>`;
}
