// What can be said of a batch at a machine, from the program's table (rules.js): the
// same as the program's own answer (kiosk/steps.go). No DOM here and no clock.
import { awaitsVerdict, begun, canWork, firstIndex, isOpen, leftOf } from "./pieces.js";
import { locate, nextIndex, rejection, sumOf, tallies } from "./pieces.js";
import { leaves, nearlyAt } from "./pace.js";
import { RULES } from "./rules.js";

/**
 * @typedef {import("./_types.js").Known} Known
 * @typedef {import("./_types.js").Look} Look
 * @typedef {import("./_types.js").Step} Step
 * @typedef {import("./_types.js").Form} Form
 * @typedef {import("./_types.js").Machine} Machine
 * @typedef {{op: number, at: number, pieces: number}} Each
 */

const PLACES = ["", "machine", "hand"]; // kinds of machines that work on batches

/**
 * How a batch stands at a machine.
 * @param {Known} b
 * @param {Machine[]} machines all of the shop
 * @param {string} id the machine's
 * @param {string} role of who looks
 * @param {{now: number, arrives?: boolean}} at
 * @returns {Look}
 */
export function lookAt(b, machines, id, role, at) {
  const m = machines.find((x) => x.machine === id) || { machine: id, name: id, work_centre: "" };
  const ts = tallies(b);
  const spot = locate(b, ts, { action: "run" }, m);
  const k = b.route.findIndex((o) => o.operation === spot.op);
  /** @type {Look} */
  const l = { b, machines, m, role, at, ts, k, visit: spot.visit, left: 0, next: nextIndex(b, ts) };
  if (k >= 0) l.left = leftOf(ts[k]);
  if (k >= 0 && spot.rework) l.left = ts[b.route.findIndex((o) => o.operation === spot.rework)].reworkOpen;
  if (spot.visit >= 0 && b.visits[spot.visit].passed) leaveBehind(l);
  return l;
}

/**
 * Looks for work that this machine has to do next, where the batch was seen to have left.
 * @param {Look} l
 */
function leaveBehind(l) {
  for (let k = l.k + 1; k < l.ts.length; k++) {
    if (can(l, k) && !over(l, k) && !unseen(l, k)) {
      Object.assign(l, { k, visit: -1, left: leftOf(l.ts[k]) });
      return;
    }
  }
}

/** @type {(l: Look, k: number) => boolean} */
const can = (l, k) => canWork(l.m, l.b.route[k].work_centre);

/** @type {(l: Look, k: number) => boolean} */
const over = (l, k) => k < l.next || k < firstIndex(l.b) || (l.ts[k].seen && l.ts[k].closed);

/** @type {(l: Look) => boolean} */
const isPlace = (l) => !PLACES.includes(l.m.kind || "");

/** @type {(l: Look) => boolean} */
const seen = (l) => l.ts.some((t) => t.seen);

/**
 * The first operation before the k-th that nobody has seen; 0 = none.
 * @param {Look} l
 * @param {number} k
 */
function unseen(l, k) {
  const t = l.ts.find((x, j) => j >= firstIndex(l.b) && j < k && !x.seen && !l.b.route[j].skipped);
  return t?.operation || 0;
}

/** @param {Look} l */
function tooEarly(l) {
  const before = (/** @type {number} */ k) => k >= firstIndex(l.b) && k < l.k && can(l, k) && l.ts[k].seen;
  return unseen(l, l.k) > 0 && l.ts.some((_, k) => before(k));
}

/** @param {Look} l */
function astray(l) {
  const k = firstIndex(l.b);
  if (seen(l) || l.b.on_floor || k >= l.ts.length || isPlace(l)) return false;
  return !can(l, k) && !l.b.route[k].outside;
}

/** @param {Look} l */
function ahead(l) {
  let k = l.next;
  while (k < l.ts.length && l.ts[k].seen && l.ts[k].could > 0 && leftOf(l.ts[k]) === 0) k++;
  return k;
}

/** @type {(l: Look, wc: string) => string} */
function only(l, wc) {
  const all = l.machines.filter((m) => canWork(m, wc));
  return all.length === 1 ? all[0].machine : "";
}

/** @param {Look} l */
function carry(l) {
  const k = ahead(l);
  if (k < l.ts.length) {
    const wc = l.b.route[k].work_centre;
    if (l.b.route[k].outside || can(l, k)) return { known: false, name: "", to: "", wc };
    return { known: true, name: wc, to: only(l, wc), wc };
  }
  const dock = l.machines.find((m) => m.kind === "dock" && m.machine !== l.m.machine);
  if (!dock) return { known: false, name: "", to: "", wc: "" };
  return { known: true, name: dock.name, to: dock.machine, wc: dock.work_centre };
}

/** @param {Look} l */
function outside(l) {
  if (l.b.visits[l.visit]?.state === "outside") return l.visit;
  const op = l.ts[l.next]?.operation;
  return l.b.visits.findIndex((v) => v.state === "outside" && isOpen(v) && v.operation === op);
}

/** @type {(l: Look) => Each[]} */
function reworks(l) {
  if (l.b.visits[l.visit]?.rework_for) return [];
  const out = [];
  for (const [j, t] of l.ts.entries()) {
    if (!t.reworkOpen) continue;
    let at = 0;
    for (let k = firstIndex(l.b); k <= j; k++) if (can(l, k)) at = l.ts[k].operation;
    if (at) out.push({ op: t.operation, at, pieces: t.reworkOpen });
  }
  return out;
}

/** @type {(l: Look) => Each[]} */
const reviews = (l) =>
  l.ts.filter((t) => t.reviewOpen > 0).map((t) => ({ op: t.operation, at: 0, pieces: t.reviewOpen }));

/**
 * Whether a role may do a deed.
 * @param {string} role
 * @param {string} deed
 */
export const may = (role, deed) => (RULES.may[role] || []).includes(deed);

/**
 * Why no work may begin: joined, cancelled, held, drawing or ''.
 * @param {Known} b
 */
export function blocked(b) {
  if (b.joined) return "joined";
  if (b.cancelled) return "cancelled";
  if (b.held) return "held";
  return b.superseded ? "drawing" : "";
}

/**
 * The refusal of a first-off that stands for the operation meant here, or null.
 * @param {Look} l
 */
export function refusal(l) {
  const o = l.b.route[l.k];
  if (!o || l.b.visits[l.visit]?.rework_for) return null;
  return rejection(l.b, { op: o.operation, visit: -1, rework: 0, machine: l.m.machine });
}

/**
 * What the operation meant here needs, by the shop's list, while it has not begun.
 * @param {Look} l
 * @returns {import("./_types.js").Thing[]}
 */
export function thingsOf(l) {
  const o = l.b.route[l.k];
  if (!o?.things || l.b.visits[l.visit]?.rework_for || over(l, l.k)) return [];
  return begun(l.b, o.operation) ? [] : o.things;
}

/**
 * The facts that the table asks for.
 * @param {Look} l
 * @returns {Record<string, boolean>}
 */
function facts(l) {
  const o = l.b.route[l.k];
  const v = l.b.visits[l.visit];
  const kind = blocked(l.b);
  const done = l.next === l.ts.length;
  const firsts = !!o?.first_off && !v?.rework_for;
  const undone = !!o && can(l, l.k) && !over(l, l.k);
  const hasWork = !!o && (l.left > 0 || !l.ts[l.k].seen);
  const { known, to } = carry(l);
  const deliver = done && atEnd(l) > 0;
  const first = deliver && (l.m.kind === "dock" || !to);
  const refused = !!refusal(l);
  return {
    ...{
      gone: kind === "joined" || kind === "cancelled",
      held: kind === "held",
      drawing: kind === "drawing",
    },
    ...{ inspection: l.m.kind === "inspection", op: !!o, left: l.left > 0, done, undone, refused },
    ...{
      work: undone && hasWork && !tooEarly(l),
      astray: astray(l),
      "no.setup": !!o && (o.setup_min || 0) < RULES.limits.setup_min,
    },
    ...{ "first.wanted": firsts, "first.due": firsts && v?.first_off !== "accepted", to: known, deliver },
    ...{ verdict: awaitsVerdict(l.b, 0) >= 0, out: outside(l) >= 0, siblings: !!l.b.siblings?.length },
    things: thingsOf(l).length > 0,
    ...{ "next.outside": !done && !!l.b.route[l.next].outside, "deliver.first": first },
    ...{
      rework: reworks(l).length > 0,
      review: reviews(l).length > 0,
      barred: refused && !may(l.role, "verdict"),
    },
    ...{
      visit: !!v,
      working: !!v && v.state !== "waiting",
      passed: !!v?.passed,
      ...(v && { [v.state]: true }),
    },
    ...paced(l),
    "put.down":
      !!l.at.arrives &&
      ["dock", "stores"].includes(l.m.kind || "") &&
      away(l) &&
      (!v || v.state === "waiting"),
    put: isPlace(l) && l.b.place !== l.m.machine && (!done || (deliver && !first)),
  };
}

/** @type {(l: Look) => boolean} */
const away = (l) => (l.b.place || "") !== l.m.machine;

/**
 * The facts that go by the time, and by what is usual at the machine.
 * @param {Look} l
 */
function paced(l) {
  const o = l.b.route[l.k];
  const v = l.b.visits[l.visit];
  const facts = {
    comes: !!l.at.arrives && !v && away(l) && !astray(l),
    trays: l.k > firstIndex(l.b) && !l.ts[l.k - 1].closed,
  };
  if (!v) return facts;
  const planned = (o.cycle_min || 0) / o.pieces_per_cycle;
  return {
    ...facts,
    nearly: nearlyAt(v, l.left, planned) <= l.at.now,
    leaves: leaves(v, l.at.now),
    unset: !v.spent.run && v.spent.setup !== undefined && v.state !== "running",
  };
}

/** @param {Look} l */
const atEnd = (l) => sumOf(l.b, l.ts).good - l.b.delivered;

/**
 * What steps say beside their operation and visit.
 * @param {Look} l
 * @returns {Record<string, string | number | undefined>}
 */
function values(l) {
  const c = carry(l);
  const first = l.b.route[firstIndex(l.b)];
  const next = l.ts[l.next];
  return {
    ...{ op: l.b.route[l.k]?.operation, good: (l.b.visits[l.visit] || l.ts[Math.max(l.k, 0)])?.good },
    ...{ drawing: l.b.drawing_rev, end: atEnd(l), "to.name": c.name, to: c.to, "to.wc": c.wc },
    ...{ machine: l.m.machine, next: next?.operation, "next.left": next && leftOf(next) },
    ...{
      "first.op": first?.operation,
      "first.wc": first?.work_centre,
      first: first && only(l, first.work_centre),
    },
  };
}

/**
 * The steps, the likely one first, and what waits for someone else.
 * @param {Look} l
 * @returns {{steps: Step[], others: {key: string, args: string[]}[]}}
 */
export function stepsOf(l) {
  const holds = facts(l);
  const says = values(l);
  const waiting = /** @type {Record<string, Each[]>} */ ({ rework: reworks(l), review: reviews(l) });
  /** @type {{step: Step, form: Form}[]} */
  const out = [];
  const list = (/** @type {string} */ name) => {
    for (const line of RULES.lists[name]) {
      const fits = (/** @type {string} */ f) => (f[0] === "!" ? !holds[f.slice(1)] : !!holds[f]);
      if (!(line.when || []).every(fits)) continue;
      for (const e of line.each ? waiting[line.each] : [{ op: 0, at: 0, pieces: 0 }]) {
        for (const what of line.do || []) {
          const form = RULES.forms[what];
          if (what[0] === "@") list(what.slice(1));
          else if (!form.unless || !holds[form.unless]) out.push({ step: formed(l, form, says, e), form });
        }
      }
      if (line.end) return;
    }
  };
  list("all");
  return offered(
    l,
    out.filter(({ step }, i) => out.findIndex((o) => isSame(o.step, step)) === i),
  );
}

/** @type {(a: Step, b: Step) => boolean} */
const isSame = (a, b) =>
  a.key === b.key && a.operation === b.operation && a.for === b.for && a.phase === b.phase && a.to === b.to;

/**
 * @param {Look} l
 * @param {{step: Step, form: Form}[]} all
 */
function offered(l, all) {
  const mine = all.filter(({ form }) => may(l.role, form.deed));
  const next = all[0];
  const inspectors = next && (next.form.needs === "verdict" || next.form.action === "decide");
  const waits = inspectors && !may(l.role, next.form.deed);
  const steps = mine.map(({ step }, i) => ({ ...step, likely: i === 0 && !waits }));
  /** @type {{key: string, args: string[]}[]} */
  const others = [];
  for (const { step, form } of all) {
    const own = form.aim === "verdict" && step.visit === l.b.visits[l.visit]?.id;
    if (!form.who || own || may(l.role, form.deed) || others.some((o) => o.key === form.who)) continue;
    others.push({ key: form.who, args: [String(step.operation || 0)] });
  }
  return { steps, others };
}

/**
 * @param {Look} l
 * @param {Form} form
 * @param {ReturnType<typeof values>} says
 * @param {Each} e
 * @returns {Step}
 */
function formed(l, form, says, e) {
  const { action, key, phase, reason } = form;
  const args = (form.args || []).map((a) => String(a === "each" ? e.op : says[a]));
  const to = form.to && says[form.to],
    centre = form.to && says[form.to + ".wc"];
  /** @type {Step} */
  const step = {
    action,
    key,
    needs: form.needs || "",
    ...(args.length && { args }),
    phase,
    for: form.for,
    reason,
  };
  const pieces = form.pieces && says[form.pieces];
  if (typeof pieces === "number") step.pieces = pieces;
  if (form.to) Object.assign(step, to ? { to } : { needs: "place" });
  if (centre) step.work_centre = String(centre);
  return Object.assign(step, aim(l, form.aim || "", e));
}

/**
 * @param {Look} l
 * @param {string} at
 * @param {Each} e
 * @returns {Partial<Step>}
 */
function aim(l, at, e) {
  const v = l.b.visits[l.visit];
  const visit = (/** @type {number} */ i) => ({
    operation: l.b.visits[i].operation,
    visit: l.b.visits[i].id,
  });
  switch (at) {
    case "here":
    case "new":
      return {
        operation: l.b.route[l.k]?.operation,
        ...(at === "here" && { visit: v?.id }),
        ...(v?.rework_for && { for: String(v.rework_for) }),
      };
    case "out": {
      const o = l.b.visits[outside(l)];
      const back = o.wanted - o.good - o.scrap - o.rework - o.review - o.missing;
      return { ...visit(outside(l)), pieces: Math.max(0, back) };
    }
    case "verdict":
      return visit(awaitsVerdict(l.b, 0));
    case "next":
      return { operation: l.ts[l.next].operation };
    case "rework":
      return { for: String(e.op), operation: e.at };
    case "review":
      return { operation: e.op, pieces: e.pieces };
  }
  return {};
}
