// What can be done to a plan: functions from a draft to the next one.

export const keyOf = (a) => a.from + "\n" + a.to;
export const straight = (p, q) => Math.hypot(p.x - q.x, p.y - q.y);
export const half = (n) => Math.round(n * 2) / 2; // whole half metres

// nodes gives the points of a draft by name.
export const nodes = (d) => new Map([...d.corners.map((c) => [c.corner, c]), ...d.places.map((p) => [p.machine, p])]);

// nextName is a corner's name that nothing has yet.
export function nextName(d) {
  const taken = nodes(d);
  for (let i = 1; ; i++) if (!taken.has("C" + i)) return "C" + i;
}

export function addCorner(d, x, y) {
  const corner = nextName(d);
  return [{...d, corners: [...d.corners, {corner, x, y}]}, corner];
}

// join draws an aisle; there is one at most between two ends.
export function join(d, from, to) {
  if (from === to || d.aisles.some((a) => (a.from === from && a.to === to) || (a.from === to && a.to === from))) return d;
  return {...d, aisles: [...d.aisles, {from, to, metres: 0}]};
}

// split puts a corner into an aisle. An aisle with a length of its own shares it out.
export function split(d, key, x, y) {
  const a = d.aisles.find((z) => keyOf(z) === key), at = nodes(d);
  const [next, corner] = addCorner(d, x, y);
  const p = at.get(a.from), q = at.get(a.to), here = {x, y};
  const share = straight(p, here) / (straight(p, here) + straight(here, q) || 1);
  const part = (s) => (a.metres > 0 ? Math.round(a.metres * s * 100) / 100 : 0);
  const halves = [{from: a.from, to: corner, metres: part(share)}, {from: corner, to: a.to, metres: part(1 - share)}];
  return [{...next, aisles: d.aisles.flatMap((z) => (z === a ? halves : [z]))}, corner];
}

// remove takes an aisle away, or a corner with its aisles. Places stay.
export function remove(d, sel) {
  if (sel.kind === "aisle") return {...d, aisles: d.aisles.filter((a) => keyOf(a) !== sel.id)};
  if (sel.kind !== "corner") return d;
  return {...d, corners: d.corners.filter((c) => c.corner !== sel.id), aisles: d.aisles.filter((a) => a.from !== sel.id && a.to !== sel.id)};
}

export function move(d, id, x, y) {
  const to = (list, name) => list.map((n) => (n[name] === id ? {...n, x, y} : n));
  return d.corners.some((c) => c.corner === id) ? {...d, corners: to(d.corners, "corner")} : {...d, places: to(d.places, "machine")};
}

export function rename(d, id, name) {
  const end = (n) => (n === id ? name : n);
  return {...d, corners: d.corners.map((c) => (c.corner === id ? {...c, corner: name} : c)), aisles: d.aisles.map((a) => ({...a, from: end(a.from), to: end(a.to)}))};
}

export const setLength = (d, key, metres) => ({...d, aisles: d.aisles.map((a) => (keyOf(a) === key ? {...a, metres} : a))});

// snap takes a point to whole half metres, and into line with those it is joined to
// when it is within near metres of that.
export function snap(d, id, x, y, near, more = []) {
  const at = nodes(d);
  const others = [...more, ...d.aisles.filter((a) => a.from === id || a.to === id).map((a) => (a.from === id ? a.to : a.from))].map((n) => at.get(n)).filter(Boolean);
  const to = (v, side) => {
    const best = others.map((o) => o[side]).sort((a, b) => Math.abs(a - v) - Math.abs(b - v))[0];
    return best !== undefined && Math.abs(best - v) <= near ? best : half(v);
  };
  return [to(x, "x"), to(y, "y")];
}

// onto is the point of an aisle that is nearest to x, y, and how far off that is.
export function onto(p, q, x, y) {
  const dx = q.x - p.x, dy = q.y - p.y, square = dx * dx + dy * dy;
  const part = square === 0 ? 0 : Math.min(1, Math.max(0, ((x - p.x) * dx + (y - p.y) * dy) / square));
  const at = {x: p.x + part * dx, y: p.y + part * dy};
  return {...at, part, off: Math.hypot(x - at.x, y - at.y)};
}

// hit is what lies at a point: a place or corner within near metres, else an aisle.
export function hit(d, x, y, near) {
  let best = null, far = near;
  const look = (kind, id, n) => {
    const off = Math.hypot(n.x - x, n.y - y);
    if (off <= far) [best, far] = [{kind, id}, off];
  };
  d.corners.forEach((c) => look("corner", c.corner, c));
  d.places.forEach((p) => look("place", p.machine, p));
  if (best) return best;
  const at = nodes(d);
  far = near * 0.6;
  for (const a of d.aisles) {
    const o = onto(at.get(a.from), at.get(a.to), x, y);
    if (o.off <= far) [best, far] = [{kind: "aisle", id: keyOf(a)}, o.off];
  }
  return best;
}

// scaled makes the picture so large that two of its points lie metres apart; the
// first one stays.
export function scaled(d, p, q, metres) {
  const f = metres / straight(p, q), pic = d.picture, r = (n) => Math.round(n * 1000) / 1000;
  return {...d, picture: {...pic, x_m: r(p.x + (pic.x_m - p.x) * f), y_m: r(p.y + (pic.y_m - p.y) * f), width_m: r(pic.width_m * f), height_m: r(pic.height_m * f)}};
}
