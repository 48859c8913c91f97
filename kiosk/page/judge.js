// A batch as this station knows it, shown at a machine: the same view as the program
// answers (kiosk/station.go). No DOM here and no clock: times are arguments, in ms.
import { blocked, lookAt, refusal, stepsOf, thingsOf } from "./steps.js";
import { firstIndex, shortOf } from "./pieces.js";

/**
 * @typedef {import("./_types.js").Known} Known
 * @typedef {import("./_types.js").KnownVisit} KnownVisit
 * @typedef {import("./_types.js").Look} Look
 * @typedef {import("./_types.js").Machine} Machine
 * @typedef {import("./_types.js").View} View
 */

/** @type {Record<string, string>} */
const SPANS = { setting: "setup", firstoff: "firstoff", running: "run", stopped: "stop", outside: "outside" };

/**
 * The view of a batch at a machine.
 * @param {Known} b
 * @param {Machine[]} machines
 * @param {string} id the machine's
 * @param {string} role of who looks
 * @param {{now: number, arrives?: boolean}} at arrives: it is usual there to say when a batch comes
 * @returns {View}
 */
export function viewOf(b, machines, id, role, at) {
  const now = at.now;
  const l = lookAt(b, machines, id, role, at);
  const kind = blocked(b);
  return {
    ...{ card: b.card, part: b.part, part_name: b.part_name, drawing_rev: b.drawing_rev, due: b.due },
    ...{
      works_order: b.works_order,
      started: b.started,
      wanted: b.wanted,
      hot: b.hot,
      short: shortOf(b, l.ts),
      place: b.place,
      siblings: b.siblings,
    },
    ...{ wait_reason: b.wait_reason, questions: b.questions, machine: id, machine_name: l.m.name, known: b },
    ...{ blocked: kind, why_key: kind && WHY[kind](b), route: b.route, got: now },
    ...work(l),
    ...visiting(l, now),
    rework_waiting: l.ts.reduce((n, t) => n + t.reworkOpen, 0),
    things: thingsOf(l),
    review_waiting: l.ts.reduce((n, t) => n + t.reviewOpen, 0),
    ...stepsOf(l),
  };
}

/** @type {Record<string, (b: Known) => [string, ...string[]]>} */
const WHY = {
  joined: (b) => ["batch.joined", b.card, b.joined || ""],
  cancelled: (b) => ["batch.cancelled", b.card],
  held: (b) => ["batch.held", b.card, b.held_reason || ""],
  drawing: (b) => ["drawing.superseded", b.part, b.drawing_rev || "", b.superseded || ""],
};

/**
 * What is to be done here.
 * @param {Look} l
 */
function work(l) {
  const o = l.b.route[l.k];
  if (!o) return { operation: 0, left: 0, of: 0, first_off: { wanted: false, state: "" } };
  const before = l.b.route[l.k - 1];
  const t = l.ts[l.k - 1];
  return {
    ...{ operation: o.operation, work_centre: o.work_centre, instruction: o.instruction || "" },
    ...{ setup_min: o.setup_min || 0, cycle_min: o.cycle_min || 0, pieces_per_cycle: o.pieces_per_cycle },
    ...{ outside: !!o.outside, left: l.left, of: l.ts[l.k].could },
    first_off: { wanted: !!o.first_off, state: "", ...refused(l) },
    ...(l.k > firstIndex(l.b) && {
      before: {
        ...{ operation: before.operation, work_centre: before.work_centre, good: t.good },
        ...{ closed: t.closed, seen: t.seen },
      },
    }),
  };
}

/**
 * How the open visit stands.
 * @param {Look} l
 * @param {number} now
 */
function visiting(l, now) {
  const v = l.b.visits[l.visit];
  if (!v) return { good: 0, scrap: 0, rework: 0, review: 0, missing: 0 };
  const o = l.b.route[l.k];
  const total = v.good + v.scrap + v.rework + v.review + v.missing;
  const plans = /** @type {Record<string, number>} */ ({
    setting: (o.setup_min || 0) * 60,
    running: ((o.cycle_min || 0) / o.pieces_per_cycle) * 60 * (total + l.left),
    outside: (o.outside_days || 0) * 86400,
  });
  const on = SPANS[v.state] ? Math.max(0, (now - Date.parse(v.since)) / 1000) : 0;
  return {
    ...{ visit: v.id, visit_state: v.state, passed: !!v.passed, since: v.since, stop_reason: v.stop_reason },
    ...{
      good: v.good,
      scrap: v.scrap,
      rework: v.rework,
      review: v.review,
      missing: v.missing,
      reads: v.reads,
    },
    ...(v.rework_for && { rework_for: v.rework_for, of: l.left + total - v.rework }),
    spent_s: (v.spent[SPANS[v.state]] || 0) + on,
    plan_s: plans[v.state] || 0,
    first_off: { wanted: !!o.first_off, state: v.first_off || "", ...refused(l) },
  };
}

/**
 * Who refused the first-off that stands here, when and why.
 * @param {Look} l
 */
function refused(l) {
  const r = refusal(l);
  return r ? { at: r.at, by: r.by, kind: r.kind, reason: r.reason } : {};
}
