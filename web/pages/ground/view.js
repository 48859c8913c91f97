// Looking at a plan: what part of it is on the screen, and how mouse, touch and
// keys move that. A view is {x, y, k, whole}: the metres at the upper left corner,
// the pixels of one metre, and whether it shows the whole plan.
import { html, useEffect, useRef, useSignal } from "../../lib/vendor/ui.js";
import { say } from "../../lib/words.js";

const slop = 5; // px that a finger may move and still be a tap
const least = 0.4,
  most = 200; // px a metre
const step = 1.35; // of one press of + or -

export const toPx = (v, x, y) => [(x - v.x) * v.k, (y - v.y) * v.k];
const toMetres = (v, px, py) => [v.x + px / v.k, v.y + py / v.k];

// wholeView shows all points in a box of w by h pixels, with room around for
// the labels: pad is {x, y} in pixels.
export function wholeView(points, w, h, pad) {
  if (points.length === 0) return { x: -5, y: -5, k: Math.max(least, Math.min(w, h) / 40), whole: true };
  const xs = points.map((p) => p[0]),
    ys = points.map((p) => p[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const k = Math.min(
    most,
    Math.max(least, Math.min((w - 2 * pad.x) / Math.max(1, x1 - x0), (h - 2 * pad.y) / Math.max(1, y1 - y0))),
  );
  return { x: (x0 + x1) / 2 - w / 2 / k, y: (y0 + y1) / 2 - h / 2 / k, k, whole: true };
}

// zoomed keeps the point at px, py where it is.
function zoomed(v, factor, px, py) {
  const k = Math.min(most, Math.max(least, v.k * factor));
  const [x, y] = toMetres(v, px, py);
  return { x: x - px / k, y: y - py / k, k, whole: false };
}

const panned = (v, dx, dy) => ({ x: v.x - dx / v.k, y: v.y - dy / v.k, k: v.k, whole: false });

// gestures listens on an element. drag(point, event) may take a press over with
// {move, up, cancel}; otherwise it pans. tap(point, target) is a press without
// moving. Two fingers zoom. It gives what stops listening.
export function gestures(el, /** @type {{view: any, drag?: any, tap: any}} */ { view, drag, tap }) {
  const fingers = new Map();
  let task = null,
    from = null,
    target = null,
    moved = false;
  const at = (e) => {
    const r = el.getBoundingClientRect();
    return [e.clientX - r.left, e.clientY - r.top];
  };
  const metres = (p) => toMetres(view.value, ...p);
  const down = (e) => {
    if (e.button > 0) return;
    fingers.set(e.pointerId, at(e));
    if (fingers.size === 1) {
      [from, target, moved] = [at(e), e.target, false];
      task = drag ? drag(metres(from), e) : null;
      return;
    }
    task?.cancel();
    task = null;
    moved = true;
  };
  const pinch = (id, p) => {
    const [other] = [...fingers].filter(([k]) => k !== id).map(([, q]) => q),
      was = fingers.get(id);
    const far = (a, b) => Math.max(20, Math.hypot(a[0] - b[0], a[1] - b[1]));
    const mid = [(p[0] + other[0]) / 2, (p[1] + other[1]) / 2];
    const next = zoomed(view.value, far(p, other) / far(was, other), ...mid);
    view.value = panned(next, (p[0] - was[0]) / 2, (p[1] - was[1]) / 2);
  };
  const move = (e) => {
    if (!fingers.has(e.pointerId)) return;
    const p = at(e),
      was = fingers.get(e.pointerId);
    if (fingers.size > 1) pinch(e.pointerId, p);
    else {
      if (!moved && Math.hypot(p[0] - from[0], p[1] - from[1]) < slop) return;
      if (!moved) el.setPointerCapture(e.pointerId);
      moved = true;
      if (task) task.move(metres(p), e);
      else view.value = panned(view.value, p[0] - was[0], p[1] - was[1]);
    }
    fingers.set(e.pointerId, p);
  };
  const up = (e) => {
    if (!fingers.delete(e.pointerId) || fingers.size > 0) return;
    const p = at(e),
      done = task;
    task = null;
    if (e.type === "pointercancel") done?.cancel();
    else if (done) done.up(metres(p), moved);
    else if (!moved && tap) tap(metres(p), target);
  };
  const wheel = (e) => {
    if (e.deltaY > 0 && view.value.whole && !e.ctrlKey) return; // the page scrolls
    e.preventDefault();
    view.value = zoomed(view.value, Math.exp(-e.deltaY / 400), ...at(e));
  };
  const all = { pointerdown: down, pointermove: move, pointerup: up, pointercancel: up, wheel };
  for (const [name, f] of Object.entries(all)) el.addEventListener(name, f, { passive: false });
  return () => {
    for (const [name, f] of Object.entries(all)) el.removeEventListener(name, f);
  };
}

// keyed moves a view with the arrow keys, + and -, and 0 for the whole; false
// when the key means nothing here.
export function keyed(e, view, size, whole) {
  const by = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[e.key];
  if (by) view.value = panned(view.value, ...by);
  else if (e.key === "+" || e.key === "=") view.value = zoomed(view.value, step, size.w / 2, size.h / 2);
  else if (e.key === "-") view.value = zoomed(view.value, 1 / step, size.w / 2, size.h / 2);
  else if (e.key === "0") whole();
  else return false;
  e.preventDefault();
  return true;
}

// useView is the view of a box that shows the whole of points until someone
// moves it; give ref to the box. pad gives the room around, for a width.
export function useView(points, pad) {
  const ref = useRef(/** @type {any} */ (null)),
    size = useSignal({ w: 0, h: 0 }),
    view = useSignal(/** @type {any} */ (null));
  const key = points.map((p) => p.join()).join(" ");
  const whole = () => {
    view.value = wholeView(points, size.value.w, size.value.h, pad(size.value.w));
  };
  useEffect(() => {
    if (!ref.current) return undefined;
    const look = () => {
      size.value = { w: ref.current.clientWidth, h: ref.current.clientHeight };
    };
    const watch = new ResizeObserver(look);
    watch.observe(ref.current);
    look();
    return () => watch.disconnect();
  }, [ref.current]);
  useEffect(() => {
    if (size.value.w > 0 && (!view.value || view.value.whole)) whole();
  }, [size.value.w, size.value.h, key]);
  return { ref, size, view, whole };
}

// ViewButtons are + and - and the whole, for those without wheel and keys.
export function ViewButtons({ view, size, whole }) {
  const zoom = (f) => () => {
    view.value = zoomed(view.value, f, size.value.w / 2, size.value.h / 2);
  };
  return html`<p class="view-buttons">
    <button data-test="zoom-in" aria-label=${say("view.in")} onClick=${zoom(step)}>+</button>
    <button data-test="zoom-out" aria-label=${say("view.out")} onClick=${zoom(1 / step)}>−</button>
    <button data-test="zoom-whole" onClick=${whole}>${say("view.whole")}</button>
  </p>`;
}
