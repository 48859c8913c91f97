// What mouse and fingers do on the plan, by the tool that is chosen: move things,
// draw corners and aisles, move the picture, or show a known length.
import {computed, signal} from "/static/vendor/ui.js";
import {change, draft, selected, settle, show} from "/static/plan-draft.js";
import {addCorner, half, hit, join, move, nodes, onto, snap, split} from "/static/plan-edit.js";

const reach = 22; // px around a thing that count as the thing
const inLine = 8; // px within which a right angle is taken

export const tool = signal("move"); // move, draw, picture, scale
export const rubber = signal(null); // the aisle being drawn: {from: {x, y}, to: {x, y}}
export const points = signal([]); // of the known length
export const measured = signal({from: "", to: ""}); // the two places of the measured walk

export const node = computed(() => (draft.value && selected.value && selected.value.kind !== "aisle" ? nodes(draft.value).get(selected.value.id) : null));

const near = (v) => Math.max(0.25, inLine / v.k);

// dragNode moves a place or a corner; the whole way is one step.
function dragNode(id, from, v) {
  const before = draft.value, was = nodes(before).get(id);
  return {
    move: (p) => show(move(before, id, ...snap(before, id, was.x + p[0] - from[0], was.y + p[1] - from[1], near(v)))),
    up: (_, moved) => { if (moved) settle(before); },
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
  const a = d.aisles.find((z) => z.from + "\n" + z.to === key), at = nodes(d), [b, c] = [at.get(a.from), at.get(a.to)];
  const o = onto(b, c, ...p), level = b.y === c.y, upright = b.x === c.x;
  return [upright ? b.x : level ? half(o.x) : Math.round(o.x * 100) / 100, level ? b.y : upright ? half(o.y) : Math.round(o.y * 100) / 100];
}

// dragAisle draws from one end to another.
function dragAisle(id, v) {
  const a = nodes(draft.value).get(id);
  return {
    move: (p) => {
      const [x, y] = snap(draft.value, "", ...p, near(v), [id]);
      rubber.value = {from: a, to: {x, y}};
    },
    up: (p, moved) => {
      rubber.value = null;
      if (!moved) return;
      const [d, end] = endAt(draft.value, p, v, id);
      change(join(d, id, end));
      if (d !== draft.value || end !== id) selected.value = {kind: d.corners.some((c) => c.corner === end) ? "corner" : "place", id: end};
    },
    cancel: () => { rubber.value = null; },
  };
}

function dragPicture(from) {
  const before = draft.value, pic = before.picture, r = (n) => Math.round(n * 100) / 100;
  return {
    move: (p) => show({...before, picture: {...pic, x_m: r(pic.x_m + p[0] - from[0]), y_m: r(pic.y_m + p[1] - from[1])}}),
    up: (_, moved) => { if (moved) settle(before); },
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
  return {...task, up: (q, moved) => { if (!moved) selected.value = at; task.up(q, moved); }};
}

// tap is a press without moving, on anything that begin did not take.
export function tap(p, v) {
  if (tool.value === "scale") {
    points.value = [...points.value.slice(-1), {x: p[0], y: p[1]}];
    return;
  }
  if (tool.value === "picture") return;
  const at = hit(draft.value, ...p, reach / v.k);
  if (tool.value === "move") {
    selected.value = at;
    return;
  }
  const [d, id] = at && at.kind === "aisle" ? split(draft.value, at.id, ...pointOn(draft.value, at.id, p)) : addCorner(draft.value, ...snap(draft.value, "", ...p, near(v)));
  change(d);
  selected.value = {kind: "corner", id};
}

// nudge moves what is selected by half a metre; false if nothing can be moved.
export function nudge(key) {
  const by = {ArrowLeft: [-0.5, 0], ArrowRight: [0.5, 0], ArrowUp: [0, -0.5], ArrowDown: [0, 0.5]}[key];
  if (!by || !node.value) return false;
  const {id} = selected.value, n = node.value;
  change(move(draft.value, id, Math.round((n.x + by[0]) * 100) / 100, Math.round((n.y + by[1]) * 100) / 100), "nudge " + id);
  return true;
}
