// Walks on a plan that is not saved yet, as a preview: the server measures what is
// saved. A place that no aisle names reaches the nearest point of the nearest aisle
// by a straight stub; without aisles between them two places are a rectangular walk
// apart.
import { html, useEffect, useMemo, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { say } from "../../lib/words.js";
import { change, draft, on, saved, selected } from "./plan-draft.js";
import { endsOf, keyOf, nodes, onto, pointOf, split, straight } from "./plan-edit.js";
import { measured } from "./plan-tools.js";

/**
 * @typedef {import("./plan-draft.js").Draft} Draft
 * @typedef {import("./plan-draft.js").Aisle} Aisle
 * @typedef {import("./plan-draft.js").Spot} Spot
 * @typedef {import("./plan-draft.js").XY} XY
 * @typedef {import("./plan-edit.js").At} At
 * @typedef {[string, number][]} Far points and how many metres away they are
 * @typedef {Map<string, Far>} Ways
 * @typedef {{metres: number, by: string, path: XY[]}} Way
 * Door is where a place reaches the aisles: over a stub onto an aisle, at a part of its length.
 * @typedef {XY & {stub: number, aisle: Aisle | null, part: number, long: number, exits: Far}} Door
 * @typedef {{a: Aisle, b: Aisle, at: XY}} Crossing
 * @typedef {{kind: string, id?: string, metres?: number, other?: string, crossing?: Crossing,
 *   about?: import("./plan-draft.js").Chosen}} Odd what is odd about a plan
 * @typedef {import("../../lib/_types.js").Schema["Walk"]} Answered
 */

/**
 * @param {Aisle} a
 * @param {At} at
 */
const lengthOf = (a, at) => (a.metres > 0 ? a.metres : straight(...endsOf(at, a)));

/**
 * doorOf is where a place reaches the aisles: {exits: [[node, metres]], x, y, stub,
 * aisle, part}; null where there are no aisles.
 * @param {Draft} d
 * @param {At} at
 * @param {Set<string>} named
 * @param {Spot} p
 * @returns {Door | null}
 */
function doorOf(d, at, named, p) {
  if (named.has(p.machine))
    return { exits: [[p.machine, 0]], x: p.x, y: p.y, stub: 0, aisle: null, part: 0, long: 0 };
  let best = /** @type {Omit<Door, "exits" | "long" | "aisle"> & {aisle: Aisle} | null} */ (null);
  for (const a of d.aisles) {
    const o = onto(...endsOf(at, a), p.x, p.y);
    if (!best || o.off < best.stub) best = { aisle: a, x: o.x, y: o.y, stub: o.off, part: o.part };
  }
  if (!best) return null;
  const long = lengthOf(best.aisle, at);
  return {
    ...best,
    long,
    exits: [
      [best.aisle.from, best.stub + best.part * long],
      [best.aisle.to, best.stub + (1 - best.part) * long],
    ],
  };
}

/**
 * doors gives the door of each place, by its name.
 * @param {Draft} d
 */
export function doors(d) {
  const at = nodes(d),
    named = new Set(d.aisles.flatMap((a) => [a.from, a.to]));
  return new Map(d.places.map((p) => [p.machine, doorOf(d, at, named, p)]));
}

/**
 * @param {Draft} d
 * @param {At} at
 */
function waysOf(d, at) {
  /** @type {Ways} */
  const out = new Map();
  /** @type {(from: string, to: string, m: number) => void} */
  const add = (from, to, m) => {
    out.set(from, [...(out.get(from) || []), [to, m]]);
  };
  for (const a of d.aisles) {
    add(a.from, a.to, lengthOf(a, at));
    add(a.to, a.from, lengthOf(a, at));
  }
  return out;
}

/**
 * shortest is Dijkstra from some nodes that are so many metres away already.
 * @param {Ways} ways
 * @param {Far} begin
 */
function shortest(ways, begin) {
  /** @type {Map<string, number>} */
  const far = new Map();
  /** @type {Map<string, string>} */
  const from = new Map();
  /** @type {Set<string>} */
  const done = new Set();
  for (const [n, m] of begin) if (m < (far.get(n) ?? Infinity)) far.set(n, m);
  for (;;) {
    /** @type {[string, number] | null} */
    let next = null;
    for (const [k, m] of far) if (!done.has(k) && (next === null || m < next[1])) next = [k, m];
    if (next === null) return { far, from };
    const [n, here] = next;
    done.add(n);
    for (const [to, m] of ways.get(n) || []) {
      if (here + m >= (far.get(to) ?? Infinity)) continue;
      far.set(to, here + m);
      from.set(to, n);
    }
  }
}

/**
 * @param {{from: Map<string, string>}} tree
 * @param {string} node
 */
function pathBack(tree, node) {
  const out = [node];
  for (let n = tree.from.get(node); n !== undefined; n = tree.from.get(n)) out.unshift(n);
  return out;
}

/**
 * walk is the shortest walk between two places: {metres, by, path: [{x, y}]}.
 * @param {Draft} d
 * @param {string} a
 * @param {string} b
 * @returns {Way | null}
 */
export function walk(d, a, b) {
  const at = nodes(d),
    all = doors(d),
    p = at.get(a),
    q = at.get(b),
    from = all.get(a),
    to = all.get(b);
  if (!p || !q || a === b) return null;
  const cut = {
    metres: Math.abs(p.x - q.x) + Math.abs(p.y - q.y),
    by: "rectangular",
    path: [p, { x: q.x, y: p.y }, q],
  };
  if (!from || !to) return cut;
  const tree = shortest(waysOf(d, at), from.exits);
  let best = /** @type {Way | null} */ (null);
  if (from.aisle && from.aisle === to.aisle)
    best = {
      metres: from.stub + Math.abs(from.part - to.part) * from.long + to.stub,
      by: "aisles",
      path: [p, from, to, q],
    };
  for (const [n, m] of to.exits) {
    const sum = (tree.far.get(n) ?? Infinity) + m;
    if (sum < (best ? best.metres : Infinity))
      best = {
        metres: sum,
        by: "aisles",
        path: [p, from, ...pathBack(tree, n).map((k) => pointOf(d, k)), to, q],
      };
  }
  return best || cut;
}

/**
 * islands lists the places that no aisle joins to most others.
 * @param {Draft} d
 */
function islands(d) {
  const at = nodes(d),
    all = doors(d),
    ways = waysOf(d, at);
  /** @type {Map<string, number>} */
  const group = new Map();
  let n = 0;
  for (const node of ways.keys()) {
    if (group.has(node)) continue;
    n++;
    for (const k of shortest(ways, [[node, 0]]).far.keys()) group.set(k, n);
  }
  const of = d.places.map((p) => {
    const door = all.get(p.machine);
    return { id: p.machine, group: (door && group.get(door.exits[0][0])) ?? 0 };
  });
  /** @type {Map<number, number>} */
  const sizes = new Map();
  for (const x of of) sizes.set(x.group, (sizes.get(x.group) || 0) + 1);
  const main = [...sizes].sort((a, b) => b[1] - a[1])[0];
  return main ? of.filter((x) => x.group !== main[0]).map((x) => x.id) : [];
}

/**
 * crossing is where two aisles cross without a corner: null if they do not.
 * @param {At} at
 * @param {Aisle} a
 * @param {Aisle} b
 * @returns {XY | null}
 */
function crossing(at, a, b) {
  if ([a.from, a.to].some((n) => n === b.from || n === b.to)) return null;
  const [p, q] = endsOf(at, a),
    [r, s] = endsOf(at, b);
  const den = (q.x - p.x) * (s.y - r.y) - (q.y - p.y) * (s.x - r.x);
  if (Math.abs(den) < 1e-9) return null;
  const t = ((r.x - p.x) * (s.y - r.y) - (r.y - p.y) * (s.x - r.x)) / den,
    u = ((r.x - p.x) * (q.y - p.y) - (r.y - p.y) * (q.x - p.x)) / den;
  return t > 0 && t < 1 && u > 0 && u < 1 ? { x: p.x + t * (q.x - p.x), y: p.y + t * (q.y - p.y) } : null;
}

/**
 * warnings lists what is odd about a plan: {kind, ...}, with the thing it is about.
 * @param {Draft} d
 * @returns {Odd[]}
 */
function warnings(d) {
  const at = nodes(d),
    all = doors(d);
  /** @type {Odd[]} */
  const out = [];
  if (d.aisles.length === 0) return d.places.length > 1 ? [{ kind: "none" }] : [];
  for (const id of islands(d)) out.push({ kind: "island", id, about: { kind: "place", id } });
  /** @type {Map<string, Aisle[]>} */
  const used = new Map();
  for (const a of d.aisles) for (const n of [a.from, a.to]) used.set(n, [...(used.get(n) || []), a]);
  const stubs = new Set([...all.values()].map((x) => x?.aisle));
  for (const c of d.corners) {
    const own = used.get(c.corner) || [];
    if (own.length === 0) out.push({ kind: "lone", id: c.corner, about: { kind: "corner", id: c.corner } });
    else if (own.length === 1 && !stubs.has(own[0]))
      out.push({ kind: "nowhere", id: c.corner, about: { kind: "corner", id: c.corner } });
  }
  for (const a of d.aisles) {
    const m = straight(...endsOf(at, a));
    if (a.metres > 0 && a.metres < m - 0.05)
      out.push({
        kind: "short",
        id: `${a.from} – ${a.to}`,
        metres: m,
        about: { kind: "aisle", id: keyOf(a) },
      });
  }
  d.aisles.forEach((a, i) =>
    d.aisles.slice(i + 1).forEach((b) => {
      const x = crossing(at, a, b);
      if (x)
        out.push({
          kind: "crossing",
          id: `${a.from} – ${a.to}`,
          other: `${b.from} – ${b.to}`,
          crossing: { a, b, at: x },
          about: { kind: "aisle", id: keyOf(a) },
        });
    }),
  );
  return out;
}

// The walk between two places, as it is drawn and as it is saved; and what is odd
// about the plan.

/**
 * @param {number} m
 * @param {string} by
 */
const text = (m, by) => `${say("m", Math.round(m * 10) / 10)} ${say("ground.by." + by + ".short")}`;

/** @param {{side: "from" | "to"}} props */
function End({ side }) {
  /** @param {import("../../lib/_types.js").Input} e */
  const set = (e) => {
    measured.value = { ...measured.value, [side]: e.target.value };
  };
  return html`<label>
    ${say("plan.walk-" + side)}
    <select data-test=${"walk-" + side} onChange=${set}>
      <option value="">${say("none")}</option>
      ${draft.value.places.map(
        (p) =>
          html`<option key=${p.machine} value=${p.machine} selected=${measured.value[side] === p.machine}>
            ${p.machine} ${p.name}
          </option>`,
      )}
    </select>
  </label>`;
}

export function Walk() {
  const { from, to } = measured.value,
    d = draft.value,
    server = useSignal(/** @type {Answered | null} */ (null));
  const w = useMemo(() => (from && to ? walk(d, from, to) : null), [d, from, to]);
  useEffect(() => {
    server.value = null;
    if (!from || !to || on) return;
    get(`/api/v1/ground/walk?from=${encodeURIComponent(from)}&to=${encodeURIComponent(to)}`, {
      stay: true,
    }).then(
      (a) => {
        server.value = a;
      },
      () => {},
    );
  }, [from, to, saved.value]);
  return html`<section>
    <h2>${say("plan.walk")}</h2>
    <p class="deeds"><${End} side="from" /><${End} side="to" /></p>
    ${w && html`<p data-test="walk-preview">${say("plan.preview")} <b>${text(w.metres, w.by)}</b></p>`}
    ${w &&
    server.value &&
    html`<p data-test="walk-saved" data-metres=${server.value.metres}>
      ${say("plan.measured")} <b>${text(server.value.metres, server.value.by || "rectangular")}</b>
    </p>`}
  </section>`;
}

/** @param {{w: Odd}} props */
function Warning({ w }) {
  const put = (/** @type {Crossing} */ { a, b, at }) => {
    const x = Math.round(at.x * 100) / 100,
      y = Math.round(at.y * 100) / 100;
    const [d, corner] = split(draft.value, keyOf(a), x, y);
    change({
      ...d,
      aisles: d.aisles.flatMap((z) =>
        keyOf(z) === keyOf(b)
          ? [
              { from: b.from, to: corner, metres: 0 },
              { from: corner, to: b.to, metres: 0 },
            ]
          : [z],
      ),
    });
    selected.value = { kind: "corner", id: corner };
  };
  return html`<li data-test="plan-warning" data-kind=${w.kind} data-id=${w.id}>
    ${w.about
      ? html`<button
          class="quiet"
          onClick=${() => {
            selected.value = w.about ?? null;
          }}>
          ${w.id}
        </button>`
      : ""}${" "}
    ${say("plan.warn." + w.kind, w.other || (w.metres ? Math.round(w.metres * 10) / 10 : ""))}
    ${w.crossing &&
    html` <button data-test="plan-put-corner" onClick=${() => w.crossing && put(w.crossing)}>
        ${say("plan.put-corner")}
      </button>
    `}
  </li>`;
}

export function Warnings() {
  const list = useMemo(() => warnings(draft.value), [draft.value]);
  if (list.length === 0) return null;
  return html`<section class="warnings" data-test="plan-warnings">
    <h2>${say("plan.warnings")}</h2>
    <ul>${list.slice(0, 30).map((w, i) => html`<${Warning} key=${i} w=${w} />`)}</ul>
  </section>`;
}
