// The plan as it is drawn on.
import { html, useEffect, useMemo } from "../../lib/vendor/ui.js";
import { say } from "../../lib/words.js";
import { textWidth } from "../../lib/wall-size.js";
import { place as layLabels } from "./labels.js";
import { Hall } from "./map.js";
import { change, draft, opacity, redo, selected, undo } from "./plan-draft.js";
import { endsOf, keyOf, nodes, remove } from "./plan-edit.js";
import { begin, measured, node, nudge, points, rubber, tap, tool } from "./plan-tools.js";
import { doors, walk } from "./plan-walk.js";
import { gestures, keyed, toPx, useView, ViewButtons } from "./view.js";

/**
 * @typedef {import("./plan-draft.js").Draft} Draft
 * @typedef {import("./plan-draft.js").Chosen} Chosen
 * @typedef {import("./plan-draft.js").XY} XY
 * @typedef {import("./view.js").Point} Point
 * @typedef {import("./view.js").View} View
 * @typedef {import("./view.js").Size} Size
 */

/** @type {(w: number) => import("./view.js").Pad} */
const pad = (w) => (w < 600 ? { x: 30, y: 40 } : { x: 60, y: 50 });
const size = 10,
  fontPx = 14; // half of a place's square, type of names

/**
 * @param {View} v
 * @param {XY} p
 * @param {XY} q
 */
const line = (v, p, q) => {
  const [x1, y1] = toPx(v, p.x, p.y),
    [x2, y2] = toPx(v, q.x, q.y);
  return { x1, y1, x2, y2 };
};

/**
 * Metres is a ruler: lines every 5 or 10 or 50 m, so that sizes can be seen.
 * @param {{v: View, box: Size}} props
 */
function Metres({ v, box }) {
  const step = [1, 5, 10, 50, 100, 500].find((s) => s * v.k >= 36) || 1000;
  const from = (/** @type {number} */ at) => Math.ceil(at / step) * step,
    list = [];
  for (let x = from(v.x); x < v.x + box.w / v.k; x += step)
    list.push(html`<line key=${"x" + x} x1=${(x - v.x) * v.k} y1="0" x2=${(x - v.x) * v.k} y2=${box.h} />`);
  for (let y = from(v.y); y < v.y + box.h / v.k; y += step)
    list.push(html`<line key=${"y" + y} x1="0" y1=${(y - v.y) * v.k} x2=${box.w} y2=${(y - v.y) * v.k} />`);
  return html`<g class="metres">${list}<text x="6" y=${box.h - 6}>${say("plan.grid", step)}</text></g>`;
}

/** @type {(kind: Chosen["kind"], id: string) => boolean} */
const is = (kind, id) => selected.value?.kind === kind && selected.value.id === id;
/** @type {(kind: Chosen["kind"], id: string) => () => void} */
const pick = (kind, id) => () => {
  if (!is(kind, id)) selected.value = { kind, id };
};

/** @param {{d: Draft, v: View}} props */
function Lines({ d, v }) {
  const at = nodes(d),
    all = useMemo(() => doors(d), [d]);
  return html`<g>
    ${d.places.map((p) => {
      const door = all.get(p.machine);
      return door && door.stub > 0 && html`<line key=${p.machine} class="stub" ...${line(v, p, door)} />`;
    })}
    ${d.aisles.map(
      (a) => html`<g
        key=${keyOf(a)}
        class=${is("aisle", keyOf(a)) ? "draw-aisle chosen" : "draw-aisle"}
        data-test="draw-aisle"
        data-aisle=${a.from + ">" + a.to}
        tabindex="0"
        role="button"
        aria-label=${say("plan.aisle", a.from, a.to)}
        onFocus=${pick("aisle", keyOf(a))}>
        <line ...${line(v, ...endsOf(at, a))} />
      </g>`,
    )}
  </g>`;
}

/** @param {{d: Draft, v: View}} props */
function Measured({ d, v }) {
  const { from, to } = measured.value,
    w = useMemo(() => (from && to ? walk(d, from, to) : null), [d, from, to]);
  if (!w) return null;
  return html`<polyline class="measured" points=${w.path.map((p) => toPx(v, p.x, p.y).join()).join(" ")} />`;
}

/** @param {{d: Draft, v: View, box: Size}} props */
function Things({ d, v, box }) {
  const boxes = useMemo(() => {
    const marks = d.places.map((p) => {
      const [x, y] = toPx(v, p.x, p.y);
      return {
        key: p.machine,
        x,
        y,
        r: size,
        rank: is("place", p.machine) ? 1 : 0,
        sizes: [{ w: textWidth(p.machine, fontPx, true) + 2, h: 18 }],
      };
    });
    const corners = d.corners.map((c) => {
      const [x, y] = toPx(v, c.x, c.y);
      return { key: "\n" + c.corner, x, y, r: 7, rank: 0, sizes: [] };
    });
    return layLabels([...marks, ...corners], box.w, box.h);
  }, [d.places, d.corners, v, box, selected.value]);
  return html`<g>
    ${d.corners.map((c) => {
      const [x, y] = toPx(v, c.x, c.y),
        chosen = is("corner", c.corner);
      return html`<g
        key=${c.corner}
        class=${chosen ? "corner chosen" : "corner"}
        data-test="corner"
        data-corner=${c.corner}
        tabindex="0"
        role="button"
        aria-label=${say("plan.corner-at", c.corner, c.x, c.y)}
        onFocus=${pick("corner", c.corner)}>
        <circle cx=${x} cy=${y} r="7" />
        ${chosen && html`<text x=${x + 11} y=${y - 8}>${c.corner}</text>`}
      </g>`;
    })}
    ${d.places.map((p) => {
      const [x, y] = toPx(v, p.x, p.y),
        b = boxes.get(p.machine);
      return html`<g
        key=${p.machine}
        class=${is("place", p.machine) ? "spot chosen" : "spot"}
        data-test="spot"
        data-place=${p.machine}
        tabindex="0"
        role="button"
        aria-label=${say("plan.place-at", p.machine, p.x, p.y)}
        onFocus=${pick("place", p.machine)}>
        <title>${p.machine} ${p.name}</title>
        <rect x=${x - size} y=${y - size} width=${2 * size} height=${2 * size} />
        ${b && html`<text x=${b.x + 1} y=${b.y + 14}>${p.machine}</text>`}
      </g>`;
    })}
  </g>`;
}

/** @param {{v: View}} props */
function Known({ v }) {
  const list = points.value.map((p) => toPx(v, p.x, p.y));
  return html`<g class="known">
    ${list.length === 2 && html`<line x1=${list[0][0]} y1=${list[0][1]} x2=${list[1][0]} y2=${list[1][1]} />`}
    ${list.map(
      ([x, y], i) =>
        html`<path key=${i} data-test="known-point" d=${`M${x - 9},${y}H${x + 9}M${x},${y - 9}V${y + 9}`} />`,
    )}
  </g>`;
}

/**
 * onKey is what keys do while the plan has the focus.
 * @param {KeyboardEvent} e
 * @param {ReturnType<typeof useView>} at
 */
function onKey(e, at) {
  const undoes = (e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "z";
  if (undoes || ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "y")) {
    e.preventDefault();
    if (undoes && !e.shiftKey) undo();
    else redo();
  } else if (
    (e.key === "Delete" || e.key === "Backspace") &&
    selected.value &&
    selected.value.kind !== "place"
  ) {
    e.preventDefault();
    change(remove(draft.value, selected.value));
    selected.value = null;
    at.ref.current?.focus();
  } else if (e.key === "Escape") selected.value = null;
  else if (nudge(e.key)) e.preventDefault();
  else keyed(e, at.view, at.size.value, at.whole);
}

/**
 * whole is all that a plan must show: places, corners and the picture.
 * @type {(d: Draft) => Point[]}
 */
const allOf = (d) => {
  const pic = d.picture,
    all = [...nodes(d).values()];
  if (pic) all.push({ x: pic.x_m, y: pic.y_m }, { x: pic.x_m + pic.width_m, y: pic.y_m + pic.height_m });
  return all.map((n) => [n.x, n.y]);
};

export function Canvas() {
  const d = draft.value,
    outline = useMemo(() => allOf(d), [Boolean(d.picture), d.corners.length, d.places.length]);
  const at = useView(outline, pad);
  useEffect(() => {
    if (!at.ref.current) return undefined;
    return gestures(at.ref.current, { view: at.view, drag: begin, tap: (p, _, v) => tap(p, v) });
  }, [at.ref.current]);
  const v = at.view.value,
    box = at.size.value;
  return html`<div class="map-frame">
    <div
      class=${"map drawing tool-" + tool.value}
      ref=${at.ref}
      data-test="plan"
      role="group"
      data-k=${v ? v.k : ""}
      data-x=${v ? v.x : ""}
      data-y=${v ? v.y : ""}
      tabindex="0"
      aria-label=${say("plan.label")}
      onKeyDown=${(/** @type {KeyboardEvent} */ e) => onKey(e, at)}>
      ${v &&
      html`<svg width=${box.w} height=${box.h} role="group">
        <${Metres} v=${v} box=${box} />
        <${Hall} picture=${d.picture} v=${v} opacity=${opacity.value} />
        <${Lines} d=${d} v=${v} />
        <${Measured} d=${d} v=${v} />
        <${Things} d=${d} v=${v} box=${box} />
        ${rubber.value && html`<line class="rubber" ...${line(v, rubber.value.from, rubber.value.to)} />`}
        <${Known} v=${v} />
      </svg>`}
    </div>
    <div class="under-map">
      <p class="soft" data-test="plan-hint">
        ${say("plan.how." + tool.value)} ${node.value ? say("plan.at", node.value.x, node.value.y) : ""}
      </p>
      <${ViewButtons} ...${at} />
    </div>
  </div>`;
}
