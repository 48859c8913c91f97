// Lets a press act only on what has stood there for a while; see guard.js.
import { newGuard } from "./guard.js";
import { millimetre } from "./size.js";

const CONTROLS = "button, a[href], summary";
// Controls that fill something in and say nothing yet.
const FILLS = /^(digit|key|outcome|when|caused|size|pick|machine)/;
const FINGER_MM = 22;
const LOOK_MS = 100; // how often to look whether it may be pressed

/** @type {ReturnType<typeof newGuard<Element>>} */
const guard = newGuard(() => FINGER_MM * millimetre());
/** @type {PointerEvent | null} */
let down = null;
let timer = 0;
let marked = new Set();

/** Watches what stands on the page, and every press. */
export function watchPresses() {
  const look = () => {
    guard.saw(
      [.../** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll(CONTROLS))].map(asSeen),
      performance.now(),
    );
    mark();
  };
  new MutationObserver(look).observe(document.body, {
    subtree: true,
    childList: true,
    characterData: true,
    attributes: true,
    attributeFilter: ["disabled", "data-key", "data-sense", "data-card", "class"],
  });
  window.addEventListener("resize", look);
  document.addEventListener("pointerdown", (e) => (down = e), { capture: true, passive: true });
  document.addEventListener("click", click, { capture: true });
  look();
}

/** Whether a key may do what a button does. */
export const mayKey = () => guard.mayKey(performance.now());

/** @param {HTMLButtonElement} el */
function asSeen(el) {
  const { left, top, width, height } = el.getBoundingClientRect();
  const d = el.dataset;
  const sense = [
    d.test,
    d.key,
    d.sense,
    d.action && el.disabled,
    /** @type {HTMLElement | null} */ (el.closest("[data-card]"))?.dataset.card,
  ].join("|");
  return {
    id: el,
    sense,
    box: { x: left, y: top, page: top + (el.closest("main")?.scrollTop || 0), width, height },
    fill: FILLS.test(d.test || ""),
  };
}

/**
 * A click counts from when the finger came down: what changed since was not
 * what it aimed at.
 * @param {MouseEvent} e
 */
function click(e) {
  const el = e.target instanceof Element && e.target.closest(CONTROLS);
  if (!el) return;
  const from = e.detail && down ? down : e;
  down = null;
  if (guard.may(el, from.timeStamp, e.clientX, e.clientY)) return;
  e.preventDefault();
  e.stopImmediatePropagation();
}

// What may not be pressed yet is drawn so.
function mark() {
  clearTimeout(timer);
  const fresh = new Set(guard.fresh(performance.now()));
  for (const el of marked) if (!fresh.has(el)) el.removeAttribute("data-fresh");
  for (const el of fresh) el.setAttribute("data-fresh", "");
  marked = fresh;
  document.documentElement.toggleAttribute("data-guard", fresh.size > 0);
  if (fresh.size) timer = setTimeout(mark, LOOK_MS);
}
