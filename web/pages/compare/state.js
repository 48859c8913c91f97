// What is compared: all of it in the address, so that it can be sent on; the
// costs are kept on this device too, as what the next comparison begins with.
import { signal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Comparison"]} Comparison
 * @typedef {Schema["ComparedRoute"]} ComparedRoute
 * @typedef {Schema["RouteAsk"]} RouteAsk
 * @typedef {Required<Schema["Costs"]>} Costs
 * State is what is compared: confidence in percent; demand 0 = as last year.
 * @typedef {{part: string, size: number, good: number, confidence: number, demand: number, from: string,
 *   to: string, costs: Costs, routes: RouteAsk[]}} State
 */

export const costNames = /** @type {const} */ ([
  "labour_per_h",
  "manned",
  "per_trip",
  "per_metre",
  "per_piece",
  "outside_piece",
]);
export const threeNames = /** @type {const} */ (["low", "likely", "high"]);
const kept = "tw.costs";
export const mostRoutes = 4;

/** @type {Costs} */
const nothing = {
  currency: "", // the shop's own
  labour_per_h: 0,
  manned: 1,
  per_trip: 0,
  per_metre: 0,
  per_piece: 0,
  outside_piece: 0,
};

/**
 * usualCosts are those this device used last.
 * @returns {Costs}
 */
function usualCosts() {
  try {
    return { ...nothing, ...JSON.parse(localStorage.getItem(kept) || "{}") };
  } catch {
    return nothing;
  }
}

/** @param {Costs} c */
export const keepCosts = (c) => localStorage.setItem(kept, JSON.stringify(c));

/** @type {(text: string | null, other?: number) => number} */
const number = (text, other = 0) =>
  text !== null && text !== "" && Number.isFinite(Number(text)) ? Number(text) : other;

/**
 * @param {string | null} text
 * @returns {RouteAsk[]}
 */
function list(text) {
  try {
    const v = JSON.parse(text || "[]");
    return Array.isArray(v) ? v.filter((r) => r && typeof r.route_rev === "string").slice(0, mostRoutes) : [];
  } catch {
    return [];
  }
}

/**
 * costsOf reads the costs of an address; those left out are as usual here.
 * @param {URLSearchParams} q
 */
export function costsOf(q) {
  const c = { ...usualCosts() };
  c.currency = q.get("currency") || c.currency;
  for (const n of costNames) c[n] = number(q.get(n), c[n]);
  return c;
}

/**
 * putCosts writes them into an address.
 * @param {URLSearchParams} q
 * @param {Costs} c
 */
export function putCosts(q, c) {
  q.set("currency", c.currency);
  for (const n of costNames) q.set(n, String(c[n]));
}

/** @returns {State} */
function read() {
  const q = new URLSearchParams(location.search);
  return {
    part: q.get("part") || "",
    size: number(q.get("size")),
    good: number(q.get("good")),
    demand: number(q.get("demand")),
    from: q.get("from") || "",
    to: q.get("to") || "",
    confidence: number(q.get("confidence"), 95),
    routes: list(q.get("routes")),
    costs: costsOf(q),
  };
}

export const state = signal(read());
addEventListener("popstate", () => {
  state.value = read();
});

const inAddress = /** @type {const} */ (["part", "size", "good", "confidence", "demand", "from", "to"]);

/**
 * address is a state as a link.
 * @param {State} s
 */
export function address(s) {
  const q = new URLSearchParams();
  for (const n of inAddress) if (s[n]) q.set(n, String(s[n]));
  putCosts(q, s.costs);
  if (s.routes.length) q.set("routes", JSON.stringify(s.routes));
  return location.pathname + "?" + q;
}

/**
 * change changes the state, and the address with it.
 * @param {Partial<State>} some
 * @param {{replace?: boolean}} [options]
 */
export function change(some, { replace = false } = {}) {
  const s = { ...state.value, ...some };
  if (some.costs) keepCosts(some.costs);
  history[replace ? "replaceState" : "pushState"](null, "", address(s));
  state.value = s;
}

/**
 * changeRoute changes one of the routes; null takes it off.
 * @param {number} i
 * @param {Partial<RouteAsk> | null} some
 */
export const changeRoute = (i, some) =>
  change({
    routes: state.value.routes.flatMap((r, k) => (k !== i ? [r] : some === null ? [] : [{ ...r, ...some }])),
  });

/**
 * body is what the server is asked.
 * @param {State} s
 */
export function body(s) {
  /** @type {Schema["CompareAsk"]} */
  const b = {
    part: s.part,
    size: Math.round(s.size),
    confidence: s.confidence / 100,
    costs: s.costs,
    routes: s.routes,
  };
  if (s.good > 0) b.good = Math.round(s.good);
  if (s.demand > 0) b.demand = s.demand;
  if (s.from) b.from = s.from;
  if (s.to) b.to = s.to;
  return b;
}

/**
 * usualOf is a comparison of a part with all that is usual of it.
 * @param {string} part
 * @returns {Promise<Comparison>}
 */
export const usualOf = (part) => get(`/api/v1/compare?part=${encodeURIComponent(part)}`);

/**
 * choosePart begins a comparison of a part: its newest routes, and a batch of
 * the size that was usual.
 * @param {string} part
 * @param {string[]} revs
 * @param {{replace?: boolean}} [options]
 */
export async function choosePart(part, revs, options) {
  const usual = await usualOf(part);
  change(
    {
      part,
      size: usual.size,
      good: usual.size,
      routes: revs.slice(-mostRoutes).map((r) => ({ route_rev: r })),
      demand: 0,
    },
    options,
  );
}
