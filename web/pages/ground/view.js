// Looking at a plan: what part of it is on the screen, and how mouse, touch and
// keys move that. A view is {x, y, k, whole}: the metres at the upper left corner,
// the pixels of one metre, and whether it shows the whole plan.
import { html, useEffect, useRef, useSignal } from "../../lib/vendor/ui.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {[number, number]} Point x and y
 * @typedef {{x: number, y: number, k: number, whole: boolean}} View
 * @typedef {{x: number, y: number}} Pad
 * @typedef {{w: number, h: number}} Size
 * Task is what takes a press over: points are in metres.
 * @typedef {{move: (p: Point) => void, up: (p: Point, moved: boolean) => void, cancel: () => void}} Task
 * @typedef {import("../../lib/vendor/ui.js").Signal<View | null>} Seen null as long as its box has no size
 */

const slop = 5; // px that a finger may move and still be a tap
const least = 0.4,
  most = 200; // px a metre
const step = 1.35; // of one press of + or -

/** @type {(v: View, x: number, y: number) => Point} */
export const toPx = (v, x, y) => [(x - v.x) * v.k, (y - v.y) * v.k];
/** @type {(v: View, px: number, py: number) => Point} */
const toMetres = (v, px, py) => [v.x + px / v.k, v.y + py / v.k];

/**
 * wholeView shows all points in a box of w by h pixels, with room around for
 * the labels: pad is {x, y} in pixels.
 * @param {Point[]} points
 * @param {number} w
 * @param {number} h
 * @param {Pad} pad
 * @returns {View}
 */
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

/**
 * zoomed keeps the point at px, py where it is.
 * @param {View} v
 * @param {number} factor
 * @param {number} px
 * @param {number} py
 */
function zoomed(v, factor, px, py) {
  const k = Math.min(most, Math.max(least, v.k * factor));
  const [x, y] = toMetres(v, px, py);
  return { x: x - px / k, y: y - py / k, k, whole: false };
}

/** @type {(v: View, dx: number, dy: number) => View} */
const panned = (v, dx, dy) => ({ x: v.x - dx / v.k, y: v.y - dy / v.k, k: v.k, whole: false });

/**
 * gestures listens on an element. drag may take a press over; otherwise it pans. tap is a
 * press without moving. Two fingers zoom. It gives what stops listening.
 * @param {HTMLElement} el
 * @param {{view: Seen, drag?: (p: Point, v: View) => Task | null, tap: (p: Point, target: Element,
 *   v: View) => void}} props
 */
export function gestures(el, { view, drag, tap }) {
  /** @type {Map<number, Point>} */
  const fingers = new Map();
  let task = /** @type {Task | null | undefined} */ (null),
    from = /** @type {Point} */ ([0, 0]),
    target = /** @type {Element} */ (el),
    moved = false;
  const seen = () => /** @type {View} */ (view.value); // a box that is pressed has a size
  /** @type {(e: MouseEvent) => Point} */
  const at = (e) => {
    const r = el.getBoundingClientRect();
    return [e.clientX - r.left, e.clientY - r.top];
  };
  /** @type {(p: Point) => Point} */
  const metres = (p) => toMetres(seen(), ...p);
  /** @param {PointerEvent} e */
  const down = (e) => {
    if (e.button > 0) return;
    fingers.set(e.pointerId, at(e));
    if (fingers.size === 1) {
      [from, target, moved] = [at(e), /** @type {Element} */ (e.target), false];
      task = drag ? drag(metres(from), seen()) : null;
      return;
    }
    task?.cancel();
    task = null;
    moved = true;
  };
  /**
   * @param {number} id
   * @param {Point} p
   * @param {Point} was
   */
  const pinch = (id, p, was) => {
    const [other] = [...fingers].filter(([k]) => k !== id).map(([, q]) => q);
    /** @type {(a: Point, b: Point) => number} */
    const far = (a, b) => Math.max(20, Math.hypot(a[0] - b[0], a[1] - b[1]));
    const next = zoomed(
      seen(),
      far(p, other) / far(was, other),
      (p[0] + other[0]) / 2,
      (p[1] + other[1]) / 2,
    );
    view.value = panned(next, (p[0] - was[0]) / 2, (p[1] - was[1]) / 2);
  };
  /** @param {PointerEvent} e */
  const move = (e) => {
    const p = at(e),
      was = fingers.get(e.pointerId);
    if (!was) return;
    if (fingers.size > 1) pinch(e.pointerId, p, was);
    else {
      if (!moved && Math.hypot(p[0] - from[0], p[1] - from[1]) < slop) return;
      if (!moved) el.setPointerCapture(e.pointerId);
      moved = true;
      if (task) task.move(metres(p));
      else view.value = panned(seen(), p[0] - was[0], p[1] - was[1]);
    }
    fingers.set(e.pointerId, p);
  };
  /** @param {PointerEvent} e */
  const up = (e) => {
    if (!fingers.delete(e.pointerId) || fingers.size > 0) return;
    const p = at(e),
      done = task;
    task = null;
    if (e.type === "pointercancel") done?.cancel();
    else if (done) done.up(metres(p), moved);
    else if (!moved) tap(metres(p), target, seen());
  };
  /** @param {WheelEvent} e */
  const wheel = (e) => {
    if (e.deltaY > 0 && seen().whole && !e.ctrlKey) return; // the page scrolls
    e.preventDefault();
    view.value = zoomed(seen(), Math.exp(-e.deltaY / 400), ...at(e));
  };
  const stop = new AbortController(),
    how = { passive: false, signal: stop.signal };
  el.addEventListener("pointerdown", down, how);
  el.addEventListener("pointermove", move, how);
  el.addEventListener("pointerup", up, how);
  el.addEventListener("pointercancel", up, how);
  el.addEventListener("wheel", wheel, how);
  return () => stop.abort();
}

/** @type {Map<string, Point>} */
const arrows = new Map([
  ["ArrowLeft", [60, 0]],
  ["ArrowRight", [-60, 0]],
  ["ArrowUp", [0, 60]],
  ["ArrowDown", [0, -60]],
]);

/**
 * keyed moves a view with the arrow keys, + and -, and 0 for the whole; false
 * when the key means nothing here.
 * @param {KeyboardEvent} e
 * @param {Seen} view
 * @param {Size} size
 * @param {() => void} whole
 * @returns {boolean}
 */
export function keyed(e, view, size, whole) {
  const v = view.value,
    by = arrows.get(e.key);
  if (!v) return false;
  if (by) view.value = panned(v, ...by);
  else if (e.key === "+" || e.key === "=") view.value = zoomed(v, step, size.w / 2, size.h / 2);
  else if (e.key === "-") view.value = zoomed(v, 1 / step, size.w / 2, size.h / 2);
  else if (e.key === "0") whole();
  else return false;
  e.preventDefault();
  return true;
}

/**
 * useView is the view of a box that shows the whole of points until someone
 * moves it; give ref to the box. pad gives the room around, for a width.
 * @param {Point[]} points
 * @param {(w: number) => Pad} pad
 */
export function useView(points, pad) {
  const ref = useRef(/** @type {HTMLElement | null} */ (null)),
    size = useSignal({ w: 0, h: 0 }),
    view = useSignal(/** @type {View | null} */ (null));
  const key = points.map((p) => p.join()).join(" ");
  const whole = () => {
    view.value = wholeView(points, size.value.w, size.value.h, pad(size.value.w));
  };
  useEffect(() => {
    const box = ref.current;
    if (!box) return undefined;
    const look = () => {
      size.value = { w: box.clientWidth, h: box.clientHeight };
    };
    const watch = new ResizeObserver(look);
    watch.observe(box);
    look();
    return () => watch.disconnect();
  }, [ref.current]);
  useEffect(() => {
    if (size.value.w > 0 && (!view.value || view.value.whole)) whole();
  }, [size.value.w, size.value.h, key]);
  return { ref, size, view, whole };
}

/**
 * ViewButtons are + and - and the whole, for those without wheel and keys.
 * @param {{view: Seen, size: {value: Size}, whole: () => void}} props
 */
export function ViewButtons({ view, size, whole }) {
  const zoom = (/** @type {number} */ f) => () => {
    if (view.value) view.value = zoomed(view.value, f, size.value.w / 2, size.value.h / 2);
  };
  return html`<p class="view-buttons">
    <button data-test="zoom-in" aria-label=${say("view.in")} onClick=${zoom(step)}>+</button>
    <button data-test="zoom-out" aria-label=${say("view.out")} onClick=${zoom(1 / step)}>−</button>
    <button data-test="zoom-whole" onClick=${whole}>${say("view.whole")}</button>
  </p>`;
}
