// A second tap does nothing: what has just become what it is may not be pressed,
// since the finger was on its way to what stood there before. No DOM here and no
// clock: times are arguments, in milliseconds.

/**
 * Box is where a control lies, in CSS pixels: on the screen, and down the page.
 * @typedef {{x: number, y: number, page: number, width: number, height: number}} Box
 */
/**
 * Control is a thing to press, I by what it is known.
 * @template I
 * @typedef {{id: I, sense: string, box: Box, fill: boolean}} Control
 */

export const GUARD_MS = 700;
// Keys that only fill something in may be pressed as soon as someone could have
// seen them, if the finger went elsewhere for it.
const SEEN_MS = 250;

/**
 * Remembers since when each control is what it is and where it is.
 * @template I
 * @param {() => number} [apart] how far a finger goes to another key, in CSS pixels
 */
export function newGuard(apart = () => 80) {
  /** @type {Map<I, {sense: string, box: Box, fill: boolean, since: number}>} */
  const known = new Map();
  /** @type {{x: number, y: number} | null} */
  let last = null; // the press before that acted
  let changed = -Infinity;
  return {
    /**
     * Notes the controls as they stand now. fill marks those that only fill in.
     * @param {Control<I>[]} controls
     * @param {number} at
     */
    saw(controls, at) {
      const ids = new Set(controls.map((c) => c.id));
      for (const id of known.keys()) if (!ids.has(id)) known.delete(id);
      for (const c of controls) {
        const k = known.get(c.id);
        if (k && k.sense === c.sense && stays(k.box, c.box)) {
          k.box = c.box;
          continue;
        }
        known.set(c.id, { sense: c.sense, box: c.box, fill: c.fill, since: at });
        if (!c.fill) changed = at;
      }
    },
    /**
     * Whether a press that began at a time may act on a control.
     * @param {I} id
     * @param {number} at
     */
    may(id, at, x = 0, y = 0) {
      const k = known.get(id);
      const elsewhere = last && Math.hypot(x - last.x, y - last.y) > apart();
      const acts = !!k && (at - k.since >= GUARD_MS || (k.fill && elsewhere && at - k.since >= SEEN_MS));
      // One that came too soon is tried again: it is not what the next one follows.
      if (acts) last = { x, y };
      return acts;
    },
    /** Whether a key that stands for a button may act: nothing that acts has just changed. */
    mayKey: (/** @type {number} */ at) => at - changed >= GUARD_MS,
    /** The controls that may not be pressed yet. */
    fresh: (/** @type {number} */ at) =>
      [...known].filter(([, k]) => at - k.since < GUARD_MS).map(([id]) => id),
  };
}

/**
 * It lies where it lay, on the page or, where it sticks to an edge, on the screen.
 * @param {Box} a
 * @param {Box} b
 */
function stays(a, b) {
  const near = (/** @type {number} */ p, /** @type {number} */ q) =>
    Math.abs(p - q) <= Math.min(a.height, b.height) / 2;
  const aside = Math.abs(a.x - b.x) <= Math.min(a.width, b.width) / 2;
  return aside && (near(a.page, b.page) || near(a.y, b.y));
}
