// What can be done to a plan, as functions from a draft to the next one.

/**
 * @typedef {import("./plan-draft.js").Draft} Draft
 * @typedef {import("./plan-draft.js").Aisle} Aisle
 * @typedef {import("./plan-draft.js").Chosen} Chosen
 * @typedef {import("./plan-draft.js").Corner} Corner
 * @typedef {import("./plan-draft.js").Spot} Spot
 * @typedef {import("./plan-draft.js").XY} XY
 * @typedef {Map<string, XY & {name?: string}>} At the points of a draft by their names
 * @typedef {import("./view.js").Point} Point
 */

/** @type {(a: {from: string, to: string}) => string} */
export const keyOf = (a) => a.from + "\n" + a.to;
/** @type {(p: XY, q: XY) => number} */
export const straight = (p, q) => Math.hypot(p.x - q.x, p.y - q.y);
/** @param {number} n */
export const half = (n) => Math.round(n * 2) / 2; // whole half metres

/**
 * nodes gives the points of a draft by name.
 * @param {Draft} d
 */
export function nodes(d) {
  /** @type {At} */
  const at = new Map();
  for (const c of d.corners) at.set(c.corner, c);
  for (const p of d.places) at.set(p.machine, p);
  return at;
}

/**
 * endsOf are the points of an aisle: a draft has both.
 * @param {At} at
 * @param {{from: string, to: string}} a
 */
export const endsOf = (at, a) => /** @type {[XY, XY]} */ ([at.get(a.from), at.get(a.to)]);

/** @type {(d: Draft, id: string) => XY & {name?: string}} */
export const pointOf = (d, id) => /** @type {Corner | Spot} */ (nodes(d).get(id));

/** @type {(d: Draft, key: string) => Aisle} */
export const aisleOf = (d, key) => /** @type {Aisle} */ (d.aisles.find((a) => keyOf(a) === key));

/**
 * nextName is a corner's name that nothing has yet.
 * @param {Draft} d
 */
function nextName(d) {
  const taken = nodes(d);
  for (let i = 1; ; i++) if (!taken.has("C" + i)) return "C" + i;
}

/**
 * @param {Draft} d
 * @param {number} x
 * @param {number} y
 * @returns {[Draft, string]}
 */
export function addCorner(d, x, y) {
  const corner = nextName(d);
  return [{ ...d, corners: [...d.corners, { corner, x, y }] }, corner];
}

/**
 * join draws an aisle; there is one at most between two ends.
 * @param {Draft} d
 * @param {string} from
 * @param {string} to
 * @returns {Draft}
 */
export function join(d, from, to) {
  if (
    from === to ||
    d.aisles.some((a) => (a.from === from && a.to === to) || (a.from === to && a.to === from))
  )
    return d;
  return { ...d, aisles: [...d.aisles, { from, to, metres: 0 }] };
}

/**
 * split puts a corner into an aisle. An aisle with a length of its own shares it out.
 * @param {Draft} d
 * @param {string} key
 * @param {number} x
 * @param {number} y
 * @returns {[Draft, string]}
 */
export function split(d, key, x, y) {
  const a = aisleOf(d, key),
    [p, q] = endsOf(nodes(d), a),
    here = { x, y };
  const [next, corner] = addCorner(d, x, y);
  const share = straight(p, here) / (straight(p, here) + straight(here, q) || 1);
  /** @param {number} s */
  const part = (s) => (a.metres > 0 ? Math.round(a.metres * s * 100) / 100 : 0);
  const halves = [
    { from: a.from, to: corner, metres: part(share) },
    { from: corner, to: a.to, metres: part(1 - share) },
  ];
  return [{ ...next, aisles: d.aisles.flatMap((z) => (z === a ? halves : [z])) }, corner];
}

/**
 * remove takes an aisle away, or a corner with its aisles. Places stay.
 * @param {Draft} d
 * @param {Chosen} sel
 * @returns {Draft}
 */
export function remove(d, sel) {
  if (sel.kind === "aisle") return { ...d, aisles: d.aisles.filter((a) => keyOf(a) !== sel.id) };
  if (sel.kind !== "corner") return d;
  return {
    ...d,
    corners: d.corners.filter((c) => c.corner !== sel.id),
    aisles: d.aisles.filter((a) => a.from !== sel.id && a.to !== sel.id),
  };
}

/**
 * @param {Draft} d
 * @param {string} id
 * @param {number} x
 * @param {number} y
 * @returns {Draft}
 */
export function move(d, id, x, y) {
  return d.corners.some((c) => c.corner === id)
    ? { ...d, corners: d.corners.map((c) => (c.corner === id ? { ...c, x, y } : c)) }
    : { ...d, places: d.places.map((p) => (p.machine === id ? { ...p, x, y } : p)) };
}

/**
 * @param {Draft} d
 * @param {string} id
 * @param {string} name
 * @returns {Draft}
 */
export function rename(d, id, name) {
  /** @param {string} n */
  const end = (n) => (n === id ? name : n);
  return {
    ...d,
    corners: d.corners.map((c) => (c.corner === id ? { ...c, corner: name } : c)),
    aisles: d.aisles.map((a) => ({ ...a, from: end(a.from), to: end(a.to) })),
  };
}

/** @type {(d: Draft, key: string, metres: number) => Draft} */
export const setLength = (d, key, metres) => ({
  ...d,
  aisles: d.aisles.map((a) => (keyOf(a) === key ? { ...a, metres } : a)),
});

/**
 * snap takes a point to whole half metres, and into line with those it is joined to
 * when it is within near metres of that.
 * @param {Draft} d
 * @param {string} id
 * @param {number} x
 * @param {number} y
 * @param {number} near
 * @param {string[]} [more]
 * @returns {Point}
 */
export function snap(d, id, x, y, near, more = []) {
  const at = nodes(d);
  const others = [
    ...more,
    ...d.aisles.filter((a) => a.from === id || a.to === id).map((a) => (a.from === id ? a.to : a.from)),
  ]
    .map((n) => at.get(n))
    .filter((n) => n !== undefined);
  /** @type {(v: number, side: "x" | "y") => number} */
  const to = (v, side) => {
    const best = others.map((o) => o[side]).sort((a, b) => Math.abs(a - v) - Math.abs(b - v))[0];
    return best !== undefined && Math.abs(best - v) <= near ? best : half(v);
  };
  return [to(x, "x"), to(y, "y")];
}

/**
 * onto is the point of an aisle that is nearest to x, y, and how far off that is.
 * @param {XY} p
 * @param {XY} q
 * @param {number} x
 * @param {number} y
 */
export function onto(p, q, x, y) {
  const dx = q.x - p.x,
    dy = q.y - p.y,
    square = dx * dx + dy * dy;
  const part = square === 0 ? 0 : Math.min(1, Math.max(0, ((x - p.x) * dx + (y - p.y) * dy) / square));
  const at = { x: p.x + part * dx, y: p.y + part * dy };
  return { ...at, part, off: Math.hypot(x - at.x, y - at.y) };
}

/**
 * hit is what lies at a point: a place or corner within near metres, else an aisle.
 * @param {Draft} d
 * @param {number} x
 * @param {number} y
 * @param {number} near
 * @returns {Chosen | null}
 */
export function hit(d, x, y, near) {
  let best = /** @type {Chosen | null} */ (null),
    far = near;
  /** @type {(kind: Chosen["kind"], id: string, n: XY) => void} */
  const look = (kind, id, n) => {
    const off = Math.hypot(n.x - x, n.y - y);
    if (off <= far) [best, far] = [{ kind, id }, off];
  };
  d.corners.forEach((c) => look("corner", c.corner, c));
  d.places.forEach((p) => look("place", p.machine, p));
  if (best) return best;
  const at = nodes(d);
  far = near * 0.6;
  for (const a of d.aisles) {
    const o = onto(...endsOf(at, a), x, y);
    if (o.off <= far) [best, far] = [{ kind: "aisle", id: keyOf(a) }, o.off];
  }
  return best;
}

/**
 * scaled makes the picture so large that two of its points lie metres apart; the
 * first one stays.
 * @param {Draft} d
 * @param {XY} p
 * @param {XY} q
 * @param {number} metres
 * @returns {Draft}
 */
export function scaled(d, p, q, metres) {
  const pic = d.picture;
  if (!pic) return d;
  const f = metres / straight(p, q),
    r = (/** @type {number} */ n) => Math.round(n * 1000) / 1000;
  return {
    ...d,
    picture: {
      ...pic,
      x_m: r(p.x + (pic.x_m - p.x) * f),
      y_m: r(p.y + (pic.y_m - p.y) * f),
      width_m: r(pic.width_m * f),
      height_m: r(pic.height_m * f),
    },
  };
}
