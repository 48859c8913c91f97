// Charts drawn to scale as SVG: bars of a distribution, and points and lines over
// time. Each has a label in words; its table stands beside it on the page.
import {html} from "/static/vendor/ui.js";

const pc = (v) => `${v * 100}%`;
const nice = [1, 2, 2.5, 5, 10];

// steps are some four to seven round values from zero to a top.
export function steps(top, unit = 1) {
  if (!(top > 0)) return [0];
  const raw = top / unit / 6, power = 10 ** Math.floor(Math.log10(raw));
  const step = nice.find((n) => n * power >= raw) * power * unit;
  const out = [];
  for (let v = 0; v <= top * 1.0001; v += step) out.push(v);
  return out;
}

function Axis({ticks, at, text, bottom}) {
  return html`${ticks.map((v) => html`<g key=${v} class="tick"><line x1=${pc(at(v))} x2=${pc(at(v))} y1="0" y2=${bottom} />
    <text x=${pc(at(v))} y=${bottom + 15} text-anchor=${at(v) < 0.02 ? "start" : at(v) > 0.98 ? "end" : "middle"}>${text(v)}</text></g>`)}`;
}

// Bars draws {from, to, n, title} as a distribution; marks are {at, label} upon
// it, below one another so that they can be read.
export function Bars({bars, text, marks = [], label, high = 150, unit}) {
  if (bars.length === 0) return null;
  const first = bars[0].from, last = bars.at(-1).to, most = Math.max(1, ...bars.map((b) => b.n));
  const at = (v) => (v - first) / (last - first), top = 16 + 15 * marks.length;
  return html`<svg class="chart" role="img" aria-label=${label} width="100%" height=${top + high + 22}><title>${label}</title><g transform=${`translate(0 ${top})`}>
    <${Axis} ticks=${steps(last, unit)} at=${at} text=${text} bottom=${high} />
    ${bars.map((b) => html`<rect key=${b.from} class="bar" data-test="bin" x=${pc(at(b.from))} width=${`calc(${pc(at(b.to) - at(b.from))} - 2px)`} y=${high - (b.n / most) * high} height=${(b.n / most) * high}><title>${b.title}</title></rect>`)}
    ${marks.map((m, i) => html`<g key=${m.label} class="mark-line"><line x1=${pc(at(m.at))} x2=${pc(at(m.at))} y1=${-top + 14 + i * 15} y2=${high} />
      <text x=${pc(at(m.at))} dx=${at(m.at) > 0.7 ? -5 : 5} y=${-top + 14 + i * 15} dy="4" text-anchor=${at(m.at) > 0.7 ? "end" : "start"}>${m.label}</text></g>`)}</g></svg>`;
}

// Plot draws points {x, y, title, href, mark} and lines {name, points: [[x, y]],
// dash} over time, between from and to, and from zero up. xs are {at, text}.
export function Plot({points = [], lines = [], from, to, top, xs, text, label, high = 220, unit}) {
  const all = [...points.map((p) => p.y), ...lines.flatMap((l) => l.points.map((p) => p[1]))];
  const most = top || Math.max(1e-9, ...all) * 1.05, x = (v) => (v - from) / Math.max(1, to - from), y = (v) => high * (1 - Math.min(v, most) / most);
  return html`<svg class="chart plot" role="img" aria-label=${label} width="100%" height=${high + 26}><title>${label}</title>
    ${steps(most, unit).map((v) => html`<g key=${v} class="tick"><line x1="0" x2="100%" y1=${y(v)} y2=${y(v)} /><text x="0" y=${y(v) - 3}>${text(v)}</text></g>`)}
    ${xs.map((t) => html`<text key=${t.at} class="x" x=${pc(x(t.at))} y=${high + 16} text-anchor=${x(t.at) < 0.03 ? "start" : x(t.at) > 0.97 ? "end" : "middle"}>${t.text}</text>`)}
    <svg x="0" y="0" width="100%" height=${high} viewBox=${`0 0 1000 ${high}`} preserveAspectRatio="none">
      ${lines.map((l) => html`<polyline key=${l.name} class=${"line " + (l.dash || "")} points=${l.points.map(([a, b]) => `${x(a) * 1000},${y(b)}`).join(" ")} />`)}</svg>
    ${points.map((p, i) => html`<a key=${i} href=${p.href} data-test="point"><circle class=${"dot " + (p.mark || "")} cx=${pc(x(p.x))} cy=${y(p.y)} r=${p.mark ? 6 : 3.5}><title>${p.title}</title></circle></a>`)}
    ${lines.map((l, i) => html`<text key=${l.name} class="line-name" x="100%" dx="-4" y=${14 + i * 15} text-anchor="end">${l.name}</text>`)}</svg>`;
}
