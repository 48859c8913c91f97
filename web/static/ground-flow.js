// Walks as they lie on the plan. Walks that go along the same aisle are added up
// there: every stretch between two points where walks part or meet knows how many
// trips go along it, in each direction.

const key = (p) => p[0] + "," + p[1];

// pathOf reads "x,y x,y" (metres).
export const pathOf = (text) => (text ? text.split(" ").map((p) => p.split(",").map(Number)) : []);

// between lists the points that lie on the line from a to b, in order, both ends
// included.
function between(a, b, points) {
  const dx = b[0] - a[0], dy = b[1] - a[1], long = Math.hypot(dx, dy);
  const on = [];
  for (const p of points) {
    const t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (long * long);
    if (t <= 0 || t >= 1) continue;
    const off = Math.abs((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / long;
    if (off < 0.03) on.push([t, p]);
  }
  on.sort((p, q) => p[0] - q[0]);
  return [a, ...on.map(([, p]) => p), b];
}

// stretches adds up sets of legs, one set or two: [[leg]]. Each stretch is
// {key, a, b, sets: [{there, back, legs}]}; there is from a to b, legs are the
// keys of the legs that go along it.
export function stretches(sets) {
  const paths = sets.map((legs) => legs.map((leg) => ({leg, path: pathOf(leg.path)})));
  const points = new Map(), cut = new Map(), out = new Map();
  for (const list of paths) for (const {path} of list) for (const p of path) points.set(key(p), p);
  const all = [...points.values()];
  const pieces = (a, b) => {
    const id = key(a) + " " + key(b);
    if (!cut.has(id)) cut.set(id, between(a, b, all));
    return cut.get(id);
  };
  const add = (set, leg, a, b) => {
    const turned = key(b) < key(a), id = turned ? key(b) + " " + key(a) : key(a) + " " + key(b);
    if (!out.has(id)) out.set(id, {key: id, a: turned ? b : a, b: turned ? a : b, sets: sets.map(() => ({there: 0, back: 0, legs: []}))});
    const s = out.get(id).sets[set];
    s[turned ? "back" : "there"] += leg.trips;
    s.legs.push(leg.key);
  };
  paths.forEach((list, set) => list.forEach(({leg, path}) => {
    for (let i = 1; i < path.length; i++) {
      if (key(path[i - 1]) === key(path[i])) continue;
      const stops = pieces(path[i - 1], path[i]);
      for (let j = 1; j < stops.length; j++) add(set, leg, stops[j - 1], stops[j]);
    }
  }));
  return [...out.values()];
}

// mostTrips is the most that go along one stretch in one direction.
export const mostTrips = (list) => Math.max(1, ...list.flatMap((s) => s.sets.flatMap((x) => [x.there, x.back])));

// thickness is the width of a line for so many trips, to scale, in px.
export const thickness = (trips, most, widest = 13) => Math.max(1.5, (widest * trips) / most);
