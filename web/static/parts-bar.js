// Where the days went: the parts of a lead time as one bar, to scale, in the
// forms of the lead-time strip.
import {html} from "/static/vendor/ui.js";
import {Patterns} from "/static/strip.js";
import {say} from "/static/words.js";
import {span} from "/static/times.js";

export const order = ["run", "setup", "firstoff", "stop", "outside", "transport", "queue", "between"];

export const sum = (parts) => order.reduce((n, k) => n + (parts[k + "_s"] || 0), 0);

// PartsBar draws the parts; top is what the full width stands for, so that
// several bars have one scale.
export function PartsBar({parts, top, high = 26}) {
  const total = sum(parts), scale = top || total || 1;
  let at = 0;
  const label = order.filter((k) => parts[k + "_s"] > 0).map((k) => `${say("part." + k)} ${span(parts[k + "_s"] * 1000)}`).join(", ");
  return html`<svg class="parts-bar" role="img" aria-label=${label} width="100%" height=${high}><title>${label}</title><${Patterns} />
    ${order.map((k) => {
      const w = (parts[k + "_s"] || 0) / scale, x = at;
      at += w;
      return w > 0 && html`<rect key=${k} class=${"seg " + k} data-test="part" data-kind=${k} x=${`${x * 100}%`} width=${`${w * 100}%`} y="1" height=${high - 2}><title>${say("part." + k)}: ${span(w * scale * 1000)}</title></rect>`;
    })}</svg>`;
}

// PartsKey names the forms.
export const PartsKey = () => html`<p class="parts-key">${order.map((k) => html`<span class="key" key=${k}><svg width="26" height="16" aria-hidden="true"><rect class=${"seg " + k} x="0.5" y="1" width="25" height="14" /></svg>${say("part." + k)}</span>`)}</p>`;
