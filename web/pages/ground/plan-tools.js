// What mouse and fingers do on the plan, by the tool that is chosen: move things,
// draw corners and aisles, move the picture, or show a known length.
import { computed, signal } from "../../lib/vendor/ui.js";
import { change, draft, selected, settle, show } from "./plan-draft.js";
import {
  addCorner,
  aisleOf,
  endsOf,
  half,
  hit,
  join,
  move,
  nodes,
  onto,
  pointOf,
  snap,
  split,
} from "./plan-edit.js";

/**
 * @typedef {import("./plan-draft.js").Draft} Draft
 * @typedef {import("./plan-draft.js").Picture} Picture
 * @typedef {import("./plan-draft.js").XY} XY
 * @typedef {import("./view.js").Point} Point
 * @typedef {import("./view.js").View} View
 * @typedef {import("./view.js").Task} Task
 */

const reach = 22; // px around a thing that count as the thing
const inLine = 8; // px within which a right angle is taken

export const tool = signal("move"); // move, draw, picture, scale
export const rubber = signal(/** @type {{from: XY, to: XY} | null} */ (null)); // the aisle being drawn
export const points = signal(/** @type {XY[]} */ ([])); // of the known length
export const measured = signal({ from: "", to: "" }); // the two places of the measured walk

export const node = computed(() =>
  selected.value && selected.value.kind !== "aisle" ? nodes(draft.value).get(selected.value.id) : null,
);

/** @param {View} v */
const near = (v) => Math.max(0.25, inLine / v.k);

/**
 * dragNode moves a place or a corner; the whole way is one step.
 * @param {string} id
 * @param {Point} from
 * @param {View} v
 * @returns {Task}
 */
function dragNode(id, from, v) {
  const before = draft.value,
    was = pointOf(before, id);
  return {
    move: (p) =>
      show(move(before, id, ...snap(before, id, was.x + p[0] - from[0], was.y + p[1] - from[1], near(v)))),
    up: (_, moved) => {
      if (moved) settle(before);
    },
    cancel: () => show(before),
  };
}

/**
 * endAt makes sure that there is something to join at a point: what lies there, a
 * corner in the aisle there, or a new corner.
 * @param {Draft} d
 * @param {Point} p
 * @param {View} v
 * @param {string} from
 * @returns {[Draft, string]}
 */
function endAt(d, p, v, from) {
  const at = hit(d, ...p, reach / v.k);
  if (at && at.kind !== "aisle") return [d, at.id];
  const [x, y] = snap(d, "", ...p, near(v), from ? [from] : []);
  return at ? split(d, at.id, ...pointOn(d, at.id, p)) : addCorner(d, x, y);
}

/**
 * pointOn is the half metre along an aisle that is nearest to a point.
 * @param {Draft} d
 * @param {string} key
 * @param {Point} p
 * @returns {Point}
 */
function pointOn(d, key, p) {
  const [b, c] = endsOf(nodes(d), aisleOf(d, key));
  const o = onto(b, c, ...p),
    level = b.y === c.y,
    upright = b.x === c.x;
  return [
    upright ? b.x : level ? half(o.x) : Math.round(o.x * 100) / 100,
    level ? b.y : upright ? half(o.y) : Math.round(o.y * 100) / 100,
  ];
}

/**
 * dragAisle draws from one end to another.
 * @param {string} id
 * @param {View} v
 * @returns {Task}
 */
function dragAisle(id, v) {
  const a = pointOf(draft.value, id);
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

/**
 * @param {Point} from
 * @param {Picture} pic
 * @returns {Task}
 */
function dragPicture(from, pic) {
  const before = draft.value,
    r = (/** @type {number} */ n) => Math.round(n * 100) / 100;
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

/**
 * begin is asked when something is pressed; nothing back means that the view pans.
 * @param {Point} p
 * @param {View} v
 * @returns {Task | null}
 */
export function begin(p, v) {
  if (tool.value === "picture") return draft.value.picture && dragPicture(p, draft.value.picture);
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

/**
 * tap is a press without moving, on anything that begin did not take.
 * @param {Point} p
 * @param {View} v
 */
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

/** @type {Map<string, Point>} */
const nudges = new Map([
  ["ArrowLeft", [-0.5, 0]],
  ["ArrowRight", [0.5, 0]],
  ["ArrowUp", [0, -0.5]],
  ["ArrowDown", [0, 0.5]],
]);

/**
 * nudge moves what is selected by half a metre; false if nothing can be moved.
 * @param {string} key
 * @returns {boolean}
 */
export function nudge(key) {
  const by = nudges.get(key),
    n = node.value,
    id = selected.value?.id;
  if (!by || !n || id === undefined) return false;
  change(
    move(draft.value, id, Math.round((n.x + by[0]) * 100) / 100, Math.round((n.y + by[1]) * 100) / 100),
    "nudge " + id,
  );
  return true;
}
