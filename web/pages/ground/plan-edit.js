// What can be done to a plan, as functions from a draft to the next one, and the tools
// that do it.
import { computed, signal } from "../../lib/vendor/ui.js";
import { change, draft, selected, settle, show } from "./plan-draft.js";

export const keyOf = (a) => a.from + "\n" + a.to;
export const straight = (p, q) => Math.hypot(p.x - q.x, p.y - q.y);
const half = (n) => Math.round(n * 2) / 2; // whole half metres

// nodes gives the points of a draft by name.
export const nodes = (d) =>
  new Map([...d.corners.map((c) => [c.corner, c]), ...d.places.map((p) => [p.machine, p])]);

// nextName is a corner's name that nothing has yet.
function nextName(d) {
  const taken = nodes(d);
  for (let i = 1; ; i++) if (!taken.has("C" + i)) return "C" + i;
}

export function addCorner(d, x, y) {
  const corner = nextName(d);
  return [{ ...d, corners: [...d.corners, { corner, x, y }] }, corner];
}

// join draws an aisle; there is one at most between two ends.
export function join(d, from, to) {
  if (
    from === to ||
    d.aisles.some((a) => (a.from === from && a.to === to) || (a.from === to && a.to === from))
  )
    return d;
  return { ...d, aisles: [...d.aisles, { from, to, metres: 0 }] };
}

// split puts a corner into an aisle. An aisle with a length of its own shares it out.
export function split(d, key, x, y) {
  const a = d.aisles.find((z) => keyOf(z) === key),
    at = nodes(d);
  const [next, corner] = addCorner(d, x, y);
  const p = at.get(a.from),
    q = at.get(a.to),
    here = { x, y };
  const share = straight(p, here) / (straight(p, here) + straight(here, q) || 1);
  const part = (s) => (a.metres > 0 ? Math.round(a.metres * s * 100) / 100 : 0);
  const halves = [
    { from: a.from, to: corner, metres: part(share) },
    { from: corner, to: a.to, metres: part(1 - share) },
  ];
  return [{ ...next, aisles: d.aisles.flatMap((z) => (z === a ? halves : [z])) }, corner];
}

// remove takes an aisle away, or a corner with its aisles. Places stay.
export function remove(d, sel) {
  if (sel.kind === "aisle") return { ...d, aisles: d.aisles.filter((a) => keyOf(a) !== sel.id) };
  if (sel.kind !== "corner") return d;
  return {
    ...d,
    corners: d.corners.filter((c) => c.corner !== sel.id),
    aisles: d.aisles.filter((a) => a.from !== sel.id && a.to !== sel.id),
  };
}

export function move(d, id, x, y) {
  const to = (list, name) => list.map((n) => (n[name] === id ? { ...n, x, y } : n));
  return d.corners.some((c) => c.corner === id)
    ? { ...d, corners: to(d.corners, "corner") }
    : { ...d, places: to(d.places, "machine") };
}

export function rename(d, id, name) {
  const end = (n) => (n === id ? name : n);
  return {
    ...d,
    corners: d.corners.map((c) => (c.corner === id ? { ...c, corner: name } : c)),
    aisles: d.aisles.map((a) => ({ ...a, from: end(a.from), to: end(a.to) })),
  };
}

export const setLength = (d, key, metres) => ({
  ...d,
  aisles: d.aisles.map((a) => (keyOf(a) === key ? { ...a, metres } : a)),
});

// snap takes a point to whole half metres, and into line with those it is joined to
// when it is within near metres of that.
function snap(d, id, x, y, near, more = []) {
  const at = nodes(d);
  const others = [
    ...more,
    ...d.aisles.filter((a) => a.from === id || a.to === id).map((a) => (a.from === id ? a.to : a.from)),
  ]
    .map((n) => at.get(n))
    .filter(Boolean);
  const to = (v, side) => {
    const best = others.map((o) => o[side]).sort((a, b) => Math.abs(a - v) - Math.abs(b - v))[0];
    return best !== undefined && Math.abs(best - v) <= near ? best : half(v);
  };
  return [to(x, "x"), to(y, "y")];
}

// onto is the point of an aisle that is nearest to x, y, and how far off that is.
export function onto(p, q, x, y) {
  const dx = q.x - p.x,
    dy = q.y - p.y,
    square = dx * dx + dy * dy;
  const part = square === 0 ? 0 : Math.min(1, Math.max(0, ((x - p.x) * dx + (y - p.y) * dy) / square));
  const at = { x: p.x + part * dx, y: p.y + part * dy };
  return { ...at, part, off: Math.hypot(x - at.x, y - at.y) };
}

// hit is what lies at a point: a place or corner within near metres, else an aisle.
function hit(d, x, y, near) {
  let best = null,
    far = near;
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
    const o = onto(at.get(a.from), at.get(a.to), x, y);
    if (o.off <= far) [best, far] = [{ kind: "aisle", id: keyOf(a) }, o.off];
  }
  return best;
}

// scaled makes the picture so large that two of its points lie metres apart; the
// first one stays.
export function scaled(d, p, q, metres) {
  const f = metres / straight(p, q),
    pic = d.picture,
    r = (n) => Math.round(n * 1000) / 1000;
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

// What mouse and fingers do on the plan, by the tool that is chosen: move things,
// draw corners and aisles, move the picture, or show a known length.

const reach = 22; // px around a thing that count as the thing
const inLine = 8; // px within which a right angle is taken

export const tool = signal("move"); // move, draw, picture, scale
export const rubber = signal(/** @type {any} */ (null)); // the aisle being drawn: {from: {x, y}, to: {x, y}}
export const points = signal(/** @type {any[]} */ ([])); // of the known length
export const measured = signal({ from: "", to: "" }); // the two places of the measured walk

export const node = computed(() =>
  draft.value && selected.value && selected.value.kind !== "aisle"
    ? nodes(draft.value).get(selected.value.id)
    : null,
);

const near = (v) => Math.max(0.25, inLine / v.k);

// dragNode moves a place or a corner; the whole way is one step.
function dragNode(id, from, v) {
  const before = draft.value,
    was = nodes(before).get(id);
  return {
    move: (p) =>
      show(move(before, id, ...snap(before, id, was.x + p[0] - from[0], was.y + p[1] - from[1], near(v)))),
    up: (_, moved) => {
      if (moved) settle(before);
    },
    cancel: () => show(before),
  };
}

// endAt makes sure that there is something to join at a point: what lies there, a
// corner in the aisle there, or a new corner.
function endAt(d, p, v, from) {
  const at = hit(d, ...p, reach / v.k);
  if (at && at.kind !== "aisle") return [d, at.id];
  const [x, y] = snap(d, "", ...p, near(v), from ? [from] : []);
  return at ? split(d, at.id, ...pointOn(d, at.id, p)) : addCorner(d, x, y);
}

// pointOn is the half metre along an aisle that is nearest to a point.
function pointOn(d, key, p) {
  const a = d.aisles.find((z) => z.from + "\n" + z.to === key),
    at = nodes(d),
    [b, c] = [at.get(a.from), at.get(a.to)];
  const o = onto(b, c, ...p),
    level = b.y === c.y,
    upright = b.x === c.x;
  return [
    upright ? b.x : level ? half(o.x) : Math.round(o.x * 100) / 100,
    level ? b.y : upright ? half(o.y) : Math.round(o.y * 100) / 100,
  ];
}

// dragAisle draws from one end to another.
function dragAisle(id, v) {
  const a = nodes(draft.value).get(id);
  return {
    move: (p) => {
      const [x, y] = snap(draft.value, "", ...p, near(v), [id]);
      rubber.value = { from: a, to: { x, y } };
    },
    up: (p, moved) => {
      rubber.value = null;
      if (!moved) return;
      const [d, end] = endAt(draft.value, p, v, id);
      change(join(d, id, end));
      if (d !== draft.value || end !== id)
        selected.value = { kind: d.corners.some((c) => c.corner === end) ? "corner" : "place", id: end };
    },
    cancel: () => {
      rubber.value = null;
    },
  };
}

function dragPicture(from) {
  const before = draft.value,
    pic = before.picture,
    r = (n) => Math.round(n * 100) / 100;
  return {
    move: (p) =>
      show({
        ...before,
        picture: { ...pic, x_m: r(pic.x_m + p[0] - from[0]), y_m: r(pic.y_m + p[1] - from[1]) },
      }),
    up: (_, moved) => {
      if (moved) settle(before);
    },
    cancel: () => show(before),
  };
}

// begin is asked when something is pressed; nothing back means that the view pans.
export function begin(p, v) {
  if (tool.value === "picture") return draft.value.picture ? dragPicture(p) : null;
  if (tool.value === "scale") return null;
  const at = hit(draft.value, ...p, reach / v.k);
  if (!at || at.kind === "aisle") return null;
  const task = tool.value === "draw" ? dragAisle(at.id, v) : dragNode(at.id, p, v);
  return {
    ...task,
    up: (q, moved) => {
      if (!moved) selected.value = at;
      task.up(q, moved);
    },
  };
}

// tap is a press without moving, on anything that begin did not take.
export function tap(p, v) {
  if (tool.value === "scale") {
    points.value = [...points.value.slice(-1), { x: p[0], y: p[1] }];
    return;
  }
  if (tool.value === "picture") return;
  const at = hit(draft.value, ...p, reach / v.k);
  if (tool.value === "move") {
    selected.value = at;
    return;
  }
  const [d, id] =
    at && at.kind === "aisle"
      ? split(draft.value, at.id, ...pointOn(draft.value, at.id, p))
      : addCorner(draft.value, ...snap(draft.value, "", ...p, near(v)));
  change(d);
  selected.value = { kind: "corner", id };
}

// nudge moves what is selected by half a metre; false if nothing can be moved.
export function nudge(key) {
  const by = { ArrowLeft: [-0.5, 0], ArrowRight: [0.5, 0], ArrowUp: [0, -0.5], ArrowDown: [0, 0.5] }[key];
  if (!by || !node.value) return false;
  const { id } = selected.value,
    n = node.value;
  change(
    move(draft.value, id, Math.round((n.x + by[0]) * 100) / 100, Math.round((n.y + by[1]) * 100) / 100),
    "nudge " + id,
  );
  return true;
}
