// Whose walks are shown: the choice, its figures, and the lines they are drawn as.
import { computed, effect, html, signal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { boards } from "../../lib/board.js";
import { beginWork } from "../../lib/form.js";
import { shop } from "../../lib/shop.js";
import { dayOf } from "../../lib/times.js";
import { say } from "../../lib/words.js";

const { about, rows } = boards.ground;

/**
 * @typedef {import("../../lib/_types.js").Schema["GroundBoard"]} Board
 * @typedef {import("../../lib/_types.js").Schema["Place"]} Place
 * @typedef {import("../../lib/_types.js").Schema["Walks"]} Walked
 * @typedef {import("../../lib/_types.js").Schema["Leg"] & {key: string}} Leg
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./view.js").Point} Point
 * @typedef {{name: string, query: string}} Query
 * @typedef {Query & {figures: Walked}} Asked
 * @typedef {{set: number, leg: Leg}} SetLeg
 * @typedef {{there: number, back: number, legs: string[]}} Passed there is from a to b;
 *   legs are the keys of those that go along it
 * @typedef {{key: string, a: Point, b: Point, sets: Passed[]}} Stretch
 * @typedef {typeof names[number]} Name
 * @typedef {Record<Name | "walks", string>} Chosen
 */

// The walks of the choice: those of the week come with the board and live, all
// figures are asked for, and again when the board has moved.

const patience = 1500; // ms that the board may go on moving before it is asked again

/** @type {(legs: import("../../lib/_types.js").Schema["Leg"][]) => Leg[]} */
const keyed = (legs) => legs.map((l) => ({ ...l, key: l.from + ">" + l.to }));

export const places = computed(() =>
  Object.values(rows.value)
    .flatMap((r) => ("machine" in r ? [r] : []))
    .sort((a, b) => (a.machine < b.machine ? -1 : 1)),
);
export const weekLegs = computed(() =>
  keyed(Object.values(rows.value).flatMap((r) => ("machine" in r ? [] : [r]))).sort(
    (a, b) => b.trips - a.trips || (a.key < b.key ? -1 : 1),
  ),
);

// asked is what the server was asked and what it said: [{name, query, figures}];
// wrong is why it said nothing.
export const asked = signal(/** @type {Asked[]} */ ([]));
export const wrong = signal("");

// sets is the legs to be drawn: one list, or two of routes laid over each other.
export const sets = computed(() =>
  choice.value.walks === "week" ? [weekLegs.value] : asked.value.map((a) => keyed(a.figures.legs)),
);

let running = /** @type {ReturnType<typeof beginWork> | null} */ (null);

async function load() {
  if (!about.value) return;
  running?.drop();
  const what = chosen(choice.value, dayOf(about.value.week));
  // What the board moved is the same choice: the figures on the page stay its own.
  const old = what.map((w) => w.query).join() !== asked.value.map((w) => w.query).join();
  const mine = beginWork(old && asked.value.length > 0, load);
  running = mine;
  try {
    const got = await Promise.all(
      what.map(async (w) => ({
        ...w,
        figures: await get(`/api/v1/ground/walks?${w.query}`, { until: mine.until }),
      })),
    );
    if (mine.until.aborted) return;
    asked.value = got;
    wrong.value = "";
  } catch (err) {
    if (mine.until.aborted) return;
    asked.value = [];
    wrong.value = /** @type {Error} */ (err).message;
  }
  mine.done();
}

// followWalks asks when the choice changes, and a moment after the board moved.
export function followWalks() {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let soon;
  let ready = false;
  const first = computed(() => Boolean(about.value));
  effect(() => {
    void choice.value;
    if (first.value) queueMicrotask(load); // what load reads must not set this off again
  });
  effect(() => {
    void rows.value;
    if (!ready) {
      ready = Boolean(rows.value && Object.keys(rows.value).length);
      return;
    }
    clearTimeout(soon);
    soon = setTimeout(load, patience);
  });
}

// Walks as they lie on the plan. Walks that go along the same aisle are added up
// there: every stretch between two points where walks part or meet knows how many
// trips go along it, in each direction.

/** @param {Point} p */
const key = (p) => p[0] + "," + p[1];

/**
 * pathOf reads "x,y x,y" (metres).
 * @type {(text: string) => Point[]}
 */
export const pathOf = (text) =>
  text ? text.split(" ").map((p) => /** @type {Point} */ (p.split(",").map(Number))) : [];

/**
 * between lists the points that lie on the line from a to b, in order, both ends
 * included.
 * @param {Point} a
 * @param {Point} b
 * @param {Point[]} points
 */
function between(a, b, points) {
  const dx = b[0] - a[0],
    dy = b[1] - a[1],
    long = Math.hypot(dx, dy);
  /** @type {[number, Point][]} */
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

/**
 * stretches adds up sets of legs, one set or two: [[leg]]. Each stretch is
 * {key, a, b, sets: [{there, back, legs}]}; there is from a to b, legs are the
 * keys of the legs that go along it.
 * @param {Leg[][]} sets
 */
export function stretches(sets) {
  const paths = sets.map((legs) => legs.map((leg) => ({ leg, path: pathOf(leg.path) })));
  /** @type {Map<string, Point>} */
  const points = new Map();
  /** @type {Map<string, Point[]>} */
  const cut = new Map();
  /** @type {Map<string, Stretch>} */
  const out = new Map();
  for (const list of paths) for (const { path } of list) for (const p of path) points.set(key(p), p);
  const all = [...points.values()];
  const pieces = (/** @type {Point} */ a, /** @type {Point} */ b) => {
    const id = key(a) + " " + key(b),
      found = cut.get(id) ?? between(a, b, all);
    cut.set(id, found);
    return found;
  };
  /** @type {(set: number, leg: Leg, a: Point, b: Point) => void} */
  const add = (set, leg, a, b) => {
    const turned = key(b) < key(a),
      id = turned ? key(b) + " " + key(a) : key(a) + " " + key(b);
    const found = out.get(id) ?? {
      key: id,
      a: turned ? b : a,
      b: turned ? a : b,
      sets: sets.map(() => ({ there: 0, back: 0, legs: [] })),
    };
    out.set(id, found);
    const s = found.sets[set];
    s[turned ? "back" : "there"] += leg.trips;
    s.legs.push(leg.key);
  };
  paths.forEach((list, set) =>
    list.forEach(({ leg, path }) => {
      for (let i = 1; i < path.length; i++) {
        if (key(path[i - 1]) === key(path[i])) continue;
        const stops = pieces(path[i - 1], path[i]);
        for (let j = 1; j < stops.length; j++) add(set, leg, stops[j - 1], stops[j]);
      }
    }),
  );
  return [...out.values()];
}

/**
 * mostTrips is the most that go along one stretch in one direction.
 * @param {Stretch[]} list
 */
export const mostTrips = (list) =>
  Math.max(1, ...list.flatMap((s) => s.sets.flatMap((x) => [x.there, x.back])));

/**
 * thickness is the width of a line for so many trips, to scale, in px.
 * @param {number} trips
 * @param {number} most
 */
export const thickness = (trips, most, widest = 13) => Math.max(1.5, (widest * trips) / most);

// Whose walks the ground shows. The choice lives in the address, so that it can be
// kept, sent to someone and gone back to.

const names = /** @type {const} */ (["batch", "part", "route_rev", "over", "from", "to", "place"]);

// choice is {walks: week|batch|part|period, batch, part, route_rev, over, from, to,
// place}; over is the route laid over route_rev, place the one that is open.
export const choice = signal(read());

/** @returns {Chosen} */
function read() {
  const q = new URLSearchParams(location.search);
  const c = /** @type {Record<Name, string>} */ (Object.fromEntries(names.map((n) => [n, q.get(n) || ""])));
  return { ...c, walks: c.batch ? "batch" : c.part ? "part" : c.from || c.to ? "period" : "week" };
}

/**
 * choose changes the choice and the address.
 * @param {Partial<Chosen>} some
 */
export function choose(some) {
  choice.value = { ...choice.value, ...some };
  const q = new URLSearchParams();
  for (const n of names) if (used(choice.value, n)) q.set(n, choice.value[n]);
  const text = q.toString();
  history.pushState(null, "", location.pathname + (text ? "?" + text : ""));
}

addEventListener("popstate", () => {
  choice.value = read();
});

/** @type {Record<string, Name[]>} */
const fields = {
  week: [],
  batch: ["batch"],
  part: ["part", "route_rev", "over", "from", "to"],
  period: ["from", "to"],
};
/** @type {(c: Chosen, name: Name) => boolean} */
const used = (c, name) => Boolean(c[name]) && (name === "place" || fields[c.walks].includes(name));

/**
 * chosen is what the server is asked for: one choice, or two routes that are laid
 * over each other; empty as long as something is missing.
 * @param {Chosen} c
 * @param {string} week
 * @returns {Query[]}
 */
function chosen(c, week) {
  /** @type {(some: Record<string, string>) => string} */
  const ask = (some) => new URLSearchParams(some).toString();
  const period = Object.fromEntries(
    /** @type {const} */ (["from", "to"]).filter((n) => used(c, n)).map((n) => [n, c[n]]),
  );
  if (c.walks === "week") return [{ name: "", query: ask({ from: week }) }];
  if (c.walks === "batch") return c.batch ? [{ name: c.batch, query: ask({ batch: c.batch }) }] : [];
  if (c.walks === "period") return Object.keys(period).length ? [{ name: "", query: ask(period) }] : [];
  if (!c.part) return [];
  const routes = [...new Set([c.route_rev, c.over])].filter(Boolean);
  if (routes.length === 0) return [{ name: c.part, query: ask({ part: c.part, ...period }) }];
  return routes.map((r) => ({
    name: say("ground.route", r),
    query: ask({ part: c.part, route_rev: r, ...period }),
  }));
}

/**
 * routesOf lists the route revisions of a part.
 * @param {string} part
 */
const routesOf = (part) =>
  shop.value ? shop.value.parts.filter((p) => p.part === part).map((p) => p.route_rev) : [];

/** @param {{name: string, value: string, options: [string, string][], set: (v: string) => void}} props */
function Pick({ name, value, options, set }) {
  return html`<label>
    ${say("ground." + name)}
    <select data-test=${"choose-" + name} onChange=${(/** @type {Input} */ e) => set(e.target.value)}>
      ${options.map(
        ([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`,
      )}
    </select>
  </label>`;
}

/** @param {{name: Name, type: string}} props */
function Typed({ name, type }) {
  return html`<label>
    ${say("ground." + name)}
    <input
      type=${type}
      data-test=${"choose-" + name}
      value=${choice.value[name]}
      onChange=${(/** @type {Input} */ e) => choose({ [name]: e.target.value.trim() })}
    />
  </label>`;
}

function Routes() {
  const c = choice.value,
    revs = routesOf(c.part);
  const first = [["", say("ground.every-route")], ...revs.map((r) => [r, r])];
  const second = [["", say("none")], ...revs.filter((r) => r !== c.route_rev).map((r) => [r, r])];
  return html`
    <${Pick}
      name="route_rev"
      value=${c.route_rev}
      options=${first}
      set=${(/** @type {string} */ v) => choose({ route_rev: v, over: v && v !== c.over ? c.over : "" })}
    />
    ${c.route_rev &&
    revs.length > 1 &&
    html`<${Pick}
      name="over"
      value=${c.over}
      options=${second}
      set=${(/** @type {string} */ v) => choose({ over: v })}
    />`}
  `;
}

// Choice is the form above the map.
export function Choice() {
  const c = choice.value;
  const parts = [...new Map((shop.value ? shop.value.parts : []).map((p) => [p.part, p.part_name]))].sort();
  const walks = ["week", "batch", "part", "period"].map((k) => [k, say("ground.walks." + k)]);
  return html`<form
    class="tools"
    data-test="choice"
    onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
    <${Pick}
      name="walks"
      value=${c.walks}
      options=${walks}
      set=${(/** @type {string} */ v) => choose({ walks: v })}
    />
    ${c.walks === "batch" && html`<${Typed} name="batch" type="search" />`}
    ${c.walks === "part" &&
    html`
      <${Pick}
        name="part"
        value=${c.part}
        options=${[["", say("ground.choose-part")], ...parts.map(([p, n]) => [p, n ? `${p} ${n}` : p])]}
        set=${(/** @type {string} */ v) => choose({ part: v, route_rev: "", over: "" })}
      />
      <${Routes} />
    `}
    ${["part", "period"].includes(c.walks) &&
    html`<${Typed} name="from" type="date" /><${Typed} name="to" type="date" />`}
  </form>`;
}
