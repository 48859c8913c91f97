// A machine case as the address keeps it.
import {signal} from "/static/vendor/ui.js";
import {get} from "/static/api.js";
import {costsOf, keepCosts, putCosts} from "/static/compare-state.js";

const machine = {work_centre: "", price: 0, one_off: 0, open_h_week: 80, weeks: 46, busy: 0};
const worth = {replaced: 0, hour: 0, labour: 0};

function json(text, other) {
  try { return JSON.parse(text) || other; } catch { return other; }
}

function read() {
  const q = new URLSearchParams(location.search), members = json(q.get("members"), []);
  return {machine: {...machine, ...json(q.get("machine"), {})}, members: Array.isArray(members) ? members.filter((m) => m && m.part && m.now && m.then) : [], worth: {...worth, ...json(q.get("worth"), {})}, costs: costsOf(q)};
}

// machineCase is {machine, members, worth, costs}.
export const machineCase = signal(read());
addEventListener("popstate", () => { machineCase.value = read(); });

// changeCase changes it, and the address with it.
export function changeCase(some, {replace = false} = {}) {
  const c = {...machineCase.value, ...some}, q = new URLSearchParams();
  for (const k of ["machine", "members", "worth"]) q.set(k, JSON.stringify(c[k]));
  putCosts(q, c.costs);
  if (some.costs) keepCosts(some.costs);
  history[replace ? "replaceState" : "pushState"](null, "", location.pathname + "?" + q);
  machineCase.value = c;
}

// newMember is a part with the demand and the batch size that were usual, from
// its older route to its newest.
export async function newMember(part, revs) {
  const usual = await get("/api/v1/compare?part=" + encodeURIComponent(part));
  return {part, demand: Math.round(usual.demand), size: usual.size, now: {route_rev: revs.length > 1 ? revs.at(-2) : revs[0]}, then: {route_rev: revs.at(-1)}};
}

// bodyOf is what the server is asked.
export const bodyOf = (c) => ({machine: c.machine, members: c.members, worth: c.worth, costs: c.costs});
