// What is compared: all of it in the address, so that it can be sent on; the
// costs are kept on this device too, as what the next comparison begins with.
import { signal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";

export const costNames = ["labour_per_h", "manned", "per_trip", "per_metre", "per_piece", "outside_piece"];
const numbers = ["size", "good", "demand"];
const kept = "tw.costs";
export const mostRoutes = 4;

const nothing = {
  currency: "", // the shop's own
  labour_per_h: 0,
  manned: 1,
  per_trip: 0,
  per_metre: 0,
  per_piece: 0,
  outside_piece: 0,
};

// usualCosts are those this device used last.
function usualCosts() {
  try {
    return { ...nothing, ...JSON.parse(localStorage.getItem(kept) || "{}") };
  } catch {
    return nothing;
  }
}

export const keepCosts = (c) => localStorage.setItem(kept, JSON.stringify(c));

const number = (text, other = 0) =>
  text !== null && text !== "" && Number.isFinite(Number(text)) ? Number(text) : other;

function list(text) {
  try {
    const v = JSON.parse(text || "[]");
    return Array.isArray(v) ? v.filter((r) => r && typeof r.route_rev === "string").slice(0, mostRoutes) : [];
  } catch {
    return [];
  }
}

// costsOf reads the costs of an address; those left out are as usual here.
export function costsOf(q) {
  const c = { ...usualCosts() };
  if (q.get("currency")) c.currency = q.get("currency");
  for (const n of costNames) c[n] = number(q.get(n), c[n]);
  return c;
}

// putCosts writes them into an address.
export function putCosts(q, c) {
  q.set("currency", c.currency);
  for (const n of costNames) q.set(n, c[n]);
}

function read() {
  const q = new URLSearchParams(location.search);
  const s = {
    part: q.get("part") || "",
    from: q.get("from") || "",
    to: q.get("to") || "",
    confidence: number(q.get("confidence"), 95),
    routes: list(q.get("routes")),
    costs: costsOf(q),
  };
  for (const n of numbers) s[n] = number(q.get(n));
  return s;
}

// state is {part, size, good, confidence (in percent), demand (0 = as last year),
// from, to, costs, routes}.
export const state = signal(read());
addEventListener("popstate", () => {
  state.value = read();
});

// address is a state as a link.
export function address(s) {
  const q = new URLSearchParams();
  for (const n of ["part", "size", "good", "confidence", "demand", "from", "to"]) if (s[n]) q.set(n, s[n]);
  putCosts(q, s.costs);
  if (s.routes.length) q.set("routes", JSON.stringify(s.routes));
  return location.pathname + "?" + q;
}

// change changes the state, and the address with it.
export function change(some, { replace = false } = {}) {
  const s = { ...state.value, ...some };
  if (some.costs) keepCosts(some.costs);
  history[replace ? "replaceState" : "pushState"](null, "", address(s));
  state.value = s;
}

// changeRoute changes one of the routes; null takes it off.
export const changeRoute = (i, some) =>
  change({
    routes: state.value.routes.flatMap((r, k) => (k !== i ? [r] : some === null ? [] : [{ ...r, ...some }])),
  });

// body is what the server is asked.
export function body(s) {
  const b = {
    part: s.part,
    size: Math.round(s.size),
    confidence: s.confidence / 100,
    costs: s.costs,
    routes: s.routes,
  };
  for (const n of ["good", "demand"]) if (s[n] > 0) b[n] = n === "good" ? Math.round(s[n]) : s[n];
  for (const n of ["from", "to"]) if (s[n]) b[n] = s[n];
  return b;
}

// choosePart begins a comparison of a part: its newest routes, and a batch of
// the size that was usual.
export async function choosePart(part, revs, options) {
  const usual = await get("/api/v1/compare?part=" + encodeURIComponent(part));
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
