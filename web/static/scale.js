// Planned and actual as two marks on one scale: a hollow mark for the plan, a
// solid one for what is. What goes past the plan is drawn thick.
import {html} from "/static/vendor/ui.js";

const at = (v, top) => `${(Math.min(v, top) / top) * 100}%`;

const Planned = ({x}) => html`<svg x=${x} y="15" overflow="visible"><path class="planned" d="M0 0V-13M-5 -13H5L0 -6Z" /></svg>`;

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
    ${planned > 0 && html`<${Planned} x=${p} />`}
    <circle class="actual" cx=${a} cy="15" r="5" /></svg>`;
}

// Spread draws what was done many times against one plan: the median as the
// solid mark, and the middle half of all as a bar, where there are enough of
// them to say so. second is a further median on the same scale, drawn as a
// short stroke (a wait in working time under the wait as it was).
export function Spread({planned, low, mid, high, half, second, label}) {
  const top = Math.max(planned, half ? high : mid, 1e-9);
  return html`<svg class="scale" role="img" aria-label=${label} width="100%" height="22"><title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="15" y2="15" />
    ${half && html`<line class="half" data-test="half" x1=${at(low, top)} x2=${at(high, top)} y1="15" y2="15" />`}
    ${planned > 0 && html`<${Planned} x=${at(planned, top)} />`}
    ${second >= 0 && html`<svg x=${at(second, top)} y="15" overflow="visible"><line class="second" y1="-7" y2="7" /></svg>`}
    <circle class="actual" cx=${at(mid, top)} cy="15" r="5" /></svg>`;
}
