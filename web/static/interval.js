// A value with its 95 % interval as a mark on a line, to a scale that the rows of
// a table share.
import {html} from "/static/vendor/ui.js";

// Interval draws from low to high, the value as a solid mark, and a plan, if
// any, as a hollow one. One without an interval is the mark alone.
export function Interval({value, low, high, plan, from, to, label}) {
  const at = (v) => `${(Math.min(1, Math.max(0, (v - from) / (to - from))) * 100).toFixed(2)}%`;
  const known = low !== null && low !== undefined;
  return html`<svg class="interval" role="img" aria-label=${label} width="100%" height="24"><title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="14" y2="14" />
    ${known && html`<line class="range" data-test="range" x1=${at(low)} x2=${at(high)} y1="14" y2="14" />${[low, high].map((v, i) => html`<line key=${i} class="end" x1=${at(v)} x2=${at(v)} y1="8" y2="20" />`)}`}
    ${plan !== undefined && html`<svg x=${at(plan)} y="14" overflow="visible"><path class="plan" d="M0 8V-12M-5 -12H5L0 -5Z" /></svg>`}
    ${value !== null && value !== undefined && html`<circle class="value" cx=${at(value)} cy="14" r="4" />`}</svg>`;
}
