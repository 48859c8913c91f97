// Whether a scan fits what a device knows of a batch, in the program's words
// (traveler/story/check.go). What can't be judged here is for the server to ask
// about later. No DOM here and no clock.
import { blocked, may } from "./steps.js";
import { begun, canWork, countsOf, firstIndex, fromCounter, hasCounts, indexOf, leftOf } from "./pieces.js";
import { locate, nextIndex, rejection, sumOf, tallies } from "./pieces.js";
import { RULES } from "./rules.js";

/**
 * @typedef {import("./_types.js").Known} Known
 * @typedef {import("./_types.js").Machine} Machine
 * @typedef {import("./_types.js").Scanned} Scanned
 * @typedef {import("./_types.js").Spot} Spot
 * @typedef {import("./_types.js").Tally} Tally
 * @typedef {{key: string, args: string[], offer: boolean}} Misfit
 */

/** @type {(key: string, ...args: (string | number)[]) => Misfit} */
const no = (key, ...args) => ({ key, args: args.map(String), offer: RULES.askable.includes(key) });

const WORK = ["arrive", "setup", "firstoff", "run", "count", "finish", "send", "receive"];

/**
 * Why a scan does not fit, or null. One that is said anyway is refused only where
 * it may not be.
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Machine[]} machines
 * @param {string} role of who says it
 * @returns {Misfit | null}
 */
export function misfit(b, scan, machines, role) {
  const m = check(b, scan, machines, role);
  return m && scan.anyway && m.offer ? null : m;
}

/** @type {typeof misfit} */
function check(b, scan, machines, role) {
  const deed = deedOf(scan);
  if (!may(role, deed))
    return deed === "settle" ? no("role.settle", role, scan.action) : no("role", role, scan.action);
  const batch = checkBatch(b, scan);
  if (batch) return batch;
  const ts = tallies(b);
  switch (scan.action) {
    case "decide":
      return scan.for ? null : checkReview(b, scan, ts);
    case "ready":
      return checkReady(b, scan, ts);
    case "deliver": {
      const n = Math.max(0, sumOf(b, ts).good - b.delivered);
      const pieces = scan.pieces || 0;
      return pieces > n ? no("deliver.over", pieces, n) : null;
    }
    case "move":
      return machines.some((m) => m.machine === scan.to) ? null : no("place.unknown", scan.to || "");
  }
  return WORK.includes(scan.action) ? checkWork(b, scan, machines, role, ts) : null;
}

/** @param {Scanned} s */
function deedOf(s) {
  const verdict = ["hold", "free"].includes(s.action) || (s.action === "firstoff" && hasCounts(s));
  if (verdict || (s.action === "decide" && !s.for)) return "verdict";
  if (s.action === "ready") return "ready";
  return ["decide", "correct", "override", "cancel"].includes(s.action) ? "settle" : "scan";
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 */
function checkBatch(b, scan) {
  if (scan.action === "decide") return null;
  if (b.joined) return no("batch.joined", b.card, b.joined);
  if (b.cancelled && scan.action !== "deliver") return no("batch.cancelled", b.card);
  if (["deliver", "join"].includes(scan.action) && b.held)
    return no("batch.held", b.card, b.held_reason || "");
  return ["setup", "run", "send"].includes(scan.action) ? barred(b) : null;
}

/** @param {Known} b */
function barred(b) {
  switch (blocked(b)) {
    case "held":
      return no("batch.held", b.card, b.held_reason || "");
    case "drawing":
      return no("drawing.superseded", b.part, b.drawing_rev || "", b.superseded || "");
  }
  return null;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Tally[]} ts
 */
function checkReview(b, scan, ts) {
  const waiting = ts.filter((t) => t.reviewOpen > 0);
  const said = ts.find((t) => t.operation === scan.operation);
  const t = scan.operation ? said : waiting.length === 1 ? waiting[0] : undefined;
  if (!t) return no("review.none", b.card);
  const n = countsOf(scan).total;
  if (n > t.reviewOpen || n === 0) return no("review.over", t.operation, t.reviewOpen, n);
  if (scan.review?.length) return no("review.again");
  return scan.reason === "concession" && !scan.note ? no("concession.reference") : null;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Tally[]} ts
 */
function checkReady(b, scan, ts) {
  const op = scan.operation || b.route[nextIndex(b, ts)]?.operation || 0;
  const k = indexOf(b, op);
  if (k < firstIndex(b)) return no("op.unknown", op, b.route.map((o) => o.operation).join(", "));
  if (ts[k].closed || begun(b, op)) return no("ready.begun", op);
  const things = b.route[k].things ?? [];
  const known = scan.for ? things.some((t) => t.thing === scan.for) : scan.reason !== "missing";
  return things.length && known ? null : no("ready.thing", scan.for || "", op);
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Machine[]} machines
 * @param {string} role
 * @param {Tally[]} ts
 */
function checkWork(b, scan, machines, role, ts) {
  const m = machines.find((x) => x.machine === scan.station);
  const spot = locate(b, ts, scan, m);
  if (!spot.op) return no("op.none", b.card);
  const k = indexOf(b, spot.op);
  if (k < firstIndex(b)) return no("op.unknown", spot.op, b.route.map((o) => o.operation).join(", "));
  if (spot.rework) return checkRework(b, scan, spot, ts);
  return (
    checkFirstOff(b, scan, spot, role) ||
    (spot.visit < 0 ? checkBegin(b, scan, k, m, ts) : null) ||
    checkCount(b, scan, spot, k, ts)
  );
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Spot} spot
 * @param {Tally[]} ts
 */
function checkRework(b, scan, spot, ts) {
  const k = indexOf(b, spot.rework);
  if (k < 0) return no("op.unknown", spot.rework, b.route.map((o) => o.operation).join(", "));
  if (spot.op > spot.rework) return no("rework.behind", spot.op, spot.rework);
  const open = ts[k].reworkOpen;
  let n = pieces(b, scan, spot);
  if (spot.op !== spot.rework) n -= (scan.good || 0) + fromCounter(scan, b.visits[spot.visit]);
  if (n > open) return no("rework.over", spot.rework, open, n);
  return open === 0 && spot.visit < 0 ? no("rework.none", spot.rework) : null;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Spot} spot
 * @param {string} role
 */
function checkFirstOff(b, scan, spot, role) {
  const barred = rejection(b, spot);
  if (barred) return checkRejected(b, scan, spot, role, barred);
  const v = b.visits[spot.visit];
  if (!v && scan.action === "firstoff" && hasCounts(scan)) return no("firstoff.none", spot.op);
  if (scan.action === "run" && overruled(b, spot)) return null;
  const wants = b.route[indexOf(b, spot.op)].first_off;
  return scan.action === "run" && wants && v?.first_off !== "accepted" ? no("firstoff.open", spot.op) : null;
}

/**
 * Whether someone who may ran in spite of a rejection, and nothing was decided since.
 * @param {Known} b
 * @param {Spot} spot
 */
function overruled(b, spot) {
  const last = [...b.visits].reverse().find((v) => {
    const here = v.operation === spot.op && (v.rework_for || 0) === spot.rework && v.machine === spot.machine;
    return here && (v.first_off === "accepted" || v.rejected);
  });
  return !!last?.rejected?.overrule;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Spot} spot
 * @param {string} role
 * @param {{by?: string, reason?: string}} by
 */
function checkRejected(b, scan, spot, role, by) {
  const args = [spot.op, by.by || "", by.reason || ""];
  if (scan.action === "run") {
    if (!may(role, "verdict")) return no("firstoff.rejected", ...args);
    return scan.anyway && !scan.reason ? no("firstoff.reason", ...args) : no("firstoff.overrule", ...args);
  }
  if (!["count", "finish"].includes(scan.action)) return null;
  const v = b.visits[spot.visit];
  const least = scan.phase === "setup" ? 1 + (b.route[indexOf(b, spot.op)].pieces_per_cycle || 1) : 1;
  const good = (scan.good || 0) + fromCounter(scan, v);
  return good >= least && v?.state !== "running" ? no("firstoff.counted", ...args) : null;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {number} k
 * @param {Machine | undefined} m
 * @param {Tally[]} ts
 */
function checkBegin(b, scan, k, m, ts) {
  const bar = scan.action !== "arrive" ? barred(b) : null;
  if (bar) return bar;
  const o = b.route[k];
  const outside = ["send", "receive"].includes(scan.action) || o.outside;
  if (!outside && !canWork(m, o.work_centre))
    return no("machine.wrong", o.operation, o.work_centre, scan.station);
  if (b.on_floor && !b.visits.length) return null;
  const before = ts.find((t, j) => j >= firstIndex(b) && j < k && !t.seen && !b.route[j].skipped);
  if (before) return no("order.wrong", o.operation, before.operation);
  const over = ts[k].closed && leftOf(ts[k]) === 0 && countsOf(scan).total === 0;
  return over ? no("op.over", o.operation, ts[k].counted + ts[k].assumed) : null;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Spot} spot
 * @param {number} k
 * @param {Tally[]} ts
 */
function checkCount(b, scan, spot, k, ts) {
  const n = pieces(b, scan, spot);
  const t = ts[k];
  if (n === 0 || t.counted + n <= t.could) return null;
  if (k === firstIndex(b)) return no("count.started", b.started, t.counted + n, t.operation);
  return no("count.over", t.operation, t.could, ts[k - 1].operation, t.counted + n);
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Spot} spot
 */
function pieces(b, scan, spot) {
  const n = countsOf(scan).total + fromCounter(scan, b.visits[spot.visit]);
  return n === 0 && scan.action === "receive" ? scan.pieces || 0 : n;
}
