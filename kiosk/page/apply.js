// What a scan makes of what a device knows of a batch, as the program folds it
// (traveler/story/apply.go). The state machine of a visit is the program's own
// (RULES.moves). No DOM here and no clock: a scan's time is an argument.
import { countedAt, countsOf, fromCounter, hasCounts, indexOf, isOpen, leftOf } from "./pieces.js";
import { firstIndex, locate, nextIndex, rejection, sumOf, tallies } from "./pieces.js";
import { paceCounts, paceMoves } from "./pace.js";
import { RULES } from "./rules.js";

/**
 * @typedef {import("./_types.js").Known} Known
 * @typedef {import("./_types.js").KnownVisit} KnownVisit
 * @typedef {import("./_types.js").Machine} Machine
 * @typedef {import("./_types.js").Spot} Spot
 * @typedef {import("./_types.js").Scanned} Scanned
 */

/** What only the server can say the outcome of. */
const UNSURE = ["split", "join", "cancel", "override", "correct", "undo"];

/** Numbers that the program leaves out where they are 0. */
const COUNTS = { good: 0, scrap: 0, rework: 0, review: 0, missing: 0, wanted: 0 };
const OP_COUNTS = {
  ...{ moved: 0, good: 0, scrap: 0, rework_open: 0, review_open: 0 },
  ...{ missing: 0, assumed: 0, counted: 0 },
};

/**
 * What the program sent, with every number in it.
 * @param {import("./_types.js").Sent} sent
 * @returns {Known}
 */
export function knownFrom(sent) {
  return {
    ...{ delivered: 0, end_moved: 0, ...sent },
    route: sent.route.map((o) => ({ ...OP_COUNTS, ...o })),
    visits: sent.visits.map((v) => ({ ...COUNTS, ...v, spent: { ...v.spent } })),
  };
}

/**
 * A batch after a scan; unsure marks that the server has to say what became of it.
 * @param {Known} before
 * @param {Scanned} scan
 * @param {Machine[]} machines
 * @param {number} at when it happened, in ms
 * @returns {Known}
 */
export function applied(before, scan, machines, at) {
  const b = knownFrom(before);
  switch (scan.action) {
    case "hold":
      return { ...b, held: true, held_reason: scan.reason };
    case "free":
      return { ...b, held: false, held_reason: "" };
    case "decide":
      decide(b, scan);
      return b;
    case "ready":
      ready(b, scan, at);
      return b;
    case "deliver":
      b.delivered += scan.pieces || Math.max(0, sumOf(b, tallies(b)).good - b.delivered);
      if (b.delivered > 0 && sumOf(b, tallies(b)).toDo === 0) leave(b);
      return b;
    case "move":
      if (machines.some((m) => m.machine === scan.to)) {
        b.place = scan.to;
        if (!scan.pieces) leave(b);
      }
      return b;
  }
  if (UNSURE.includes(scan.action)) return { ...b, unsure: true };
  const m = machines.find((x) => x.machine === scan.station);
  work(b, scan, m, at);
  return b;
}

/**
 * Notes what was said of a thing that an operation needs, or of all of them.
 * @param {Known} b
 * @param {Scanned} scan
 * @param {number} at
 */
function ready(b, scan, at) {
  const o = b.route[indexOf(b, scan.operation || b.route[nextIndex(b, tallies(b))]?.operation)];
  if (!o?.things) return;
  const state = scan.reason === "open" ? "" : scan.reason;
  const said = state ? { state, by: scan.operator, note: scan.note, at: new Date(at).toISOString() } : {};
  o.things = o.things.map((t) =>
    scan.for && scan.for !== t.thing ? t : { thing: t.thing, text: t.text, ...said },
  );
}

/** @param {Known} b */
function leave(b) {
  for (const v of b.visits) if (isOpen(v)) v.passed = true;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 */
function decide(b, scan) {
  if (scan.for === "drawing") {
    if (scan.reason === "use") b.superseded = "";
    return;
  }
  if (scan.for) {
    b.unsure = true;
    return;
  }
  const o = b.route[indexOf(b, scan.operation ?? 0)];
  if (!o) return;
  const c = countsOf(scan);
  o.good += c.good;
  o.scrap += c.scrap;
  o.rework_open += c.rework;
  o.missing += c.missing;
  o.review_open -= c.total;
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Machine | undefined} m
 * @param {number} at
 */
function work(b, scan, m, at) {
  const ts = tallies(b);
  const spot = locate(b, ts, scan, m);
  if (scan.action === "stop" && !stops(b, spot)) {
    b.wait_reason = scan.reason;
    return;
  }
  if (indexOf(b, spot.op) < 0) return;
  if (spot.visit < 0) begin(b, scan, spot, at);
  const v = b.visits[spot.visit];
  v.passed = false;
  pass(b, spot);
  if (scan.action !== "arrive") b.wait_reason = "";
  advance(b, v, scan, spot, at);
}

/**
 * @param {Known} b
 * @param {Spot} spot
 */
function stops(b, spot) {
  return spot.visit >= 0 && !["waiting", "finished"].includes(b.visits[spot.visit].state);
}

/**
 * @param {Known} b
 * @param {Scanned} scan
 * @param {Spot} spot
 * @param {number} at
 */
function begin(b, scan, spot, at) {
  const ts = tallies(b);
  for (let k = firstIndex(b); k < ts.length && ts[k].operation < spot.op; k++)
    if (!ts[k].seen && !spot.rework) b.route[k].skipped = true;
  b.place = spot.machine;
  const since = new Date(at).toISOString();
  spot.visit = b.visits.length;
  b.visits.push({
    ...{ id: scan.id || "", operation: spot.op, machine: spot.machine, rework_for: spot.rework || undefined },
    ...{ state: "waiting", good: 0, scrap: 0, rework: 0, review: 0, missing: 0, wanted: 0, since, spent: {} },
  });
}

/**
 * Lets visits elsewhere have ended once the batch is seen further on.
 * @param {Known} b
 * @param {Spot} spot
 */
function pass(b, spot) {
  b.visits.forEach((v, i) => {
    const rework = v.rework_for || 0;
    if (i === spot.visit || !isOpen(v) || v.machine === spot.machine || v.state === "outside") return;
    if (rework && !spot.rework && spot.op < rework) return;
    if (!rework && (spot.rework || v.operation > spot.op)) return;
    const same = v.operation === spot.op && rework === spot.rework;
    if (same && !["stopped", "waiting"].includes(v.state)) return;
    v.passed = true;
  });
}

/**
 * @param {Known} b
 * @param {KnownVisit} v
 * @param {Scanned} scan
 * @param {Spot} spot
 * @param {number} at
 */
function advance(b, v, scan, spot, at) {
  switch (scan.action) {
    case "firstoff":
      firstOff(b, v, scan, at);
      return;
    case "send":
      v.wanted += scan.pieces || leftOf(tallies(b)[indexOf(b, spot.op)]);
      break;
    case "receive":
      receive(b, v, scan, at);
      return;
    case "run": {
      const barred = rejection(b, spot);
      if (barred) v.rejected = { ...barred, overrule: true };
      break;
    }
    case "count":
    case "finish":
      count(b, v, scan, at);
      if (scan.action === "count") return;
  }
  move(v, scan.action, "", at, scan.reason);
  if (scan.reads !== undefined) v.reads = scan.reads;
}

/**
 * @param {Known} b
 * @param {KnownVisit} v
 * @param {Scanned} scan
 * @param {number} at
 */
function firstOff(b, v, scan, at) {
  if (!hasCounts(scan)) return move(v, "firstoff", "none", at);
  const c = countsOf(scan);
  add(b, v, c);
  if (c.good > 0) {
    v.rejected = undefined;
    return move(v, "firstoff", "good", at);
  }
  const kind = /** @type {const} */ (["scrap", "rework", "review"]).find((k) => scan[k]?.length);
  const reason = (kind && scan[kind]?.[0].reason) || scan.note || "";
  v.rejected = { by: scan.operator, at: new Date(at).toISOString(), kind, reason };
  move(v, "firstoff", "bad", at);
}

/**
 * @param {Known} b
 * @param {KnownVisit} v
 * @param {Scanned} scan
 * @param {number} at
 */
function count(b, v, scan, at) {
  const c = countsOf(scan);
  const read = fromCounter(scan, v);
  if (c.total + read > 0 && scan.phase !== "setup" && v.state !== "finished") move(v, "count", "made", at);
  add(b, v, { ...c, good: c.good + read, total: c.total + read });
  const made = scan.phase === "setup" ? 0 : c.total + read;
  if (scan.action === "count") paceCounts(v, made, at);
  if (scan.reads !== undefined) v.reads = scan.reads;
}

/**
 * @param {Known} b
 * @param {KnownVisit} v
 * @param {Scanned} scan
 * @param {number} at
 */
function receive(b, v, scan, at) {
  const c = countsOf(scan);
  if (c.total === 0) c.good = c.total = scan.pieces || Math.max(0, v.wanted - countedAt(v));
  add(b, v, c);
  if (countedAt(v) >= v.wanted) move(v, "receive", "back", at);
}

/**
 * Writes pieces to a visit and to its operation.
 * @param {Known} b
 * @param {KnownVisit} v
 * @param {ReturnType<typeof countsOf>} c
 */
function add(b, v, c) {
  for (const kind of /** @type {const} */ (["good", "scrap", "rework", "review", "missing"]))
    v[kind] += c[kind];
  const o = b.route[indexOf(b, v.rework_for || v.operation)];
  if (!o) return;
  o.scrap += c.scrap;
  o.review_open += c.review;
  o.missing += c.missing;
  if (v.rework_for) {
    const found = v.operation === v.rework_for ? c.good : 0;
    o.good += found;
    o.rework_open -= found + c.scrap + c.review + c.missing;
    return;
  }
  o.good += c.good;
  o.rework_open += c.rework;
  o.counted += c.total;
  o.said = o.said || c.total > 0;
}

/** @type {Record<string, string>} */
const SPANS = { setting: "setup", firstoff: "firstoff", running: "run", stopped: "stop", outside: "outside" };

/**
 * Takes a visit on by the program's table of moves.
 * @param {KnownVisit} v
 * @param {string} action
 * @param {string} pieces of which kind the scan is
 * @param {number} at
 * @param {string} [reason]
 */
function move(v, action, pieces, at, reason) {
  const m = RULES.moves.find(
    (x) => x.action === action && (!x.pieces || x.pieces === pieces) && (!x.from || x.from.includes(v.state)),
  );
  if (!m) return;
  if (m.first_off) v.first_off = m.first_off;
  if (!m.to || (m.to === "running" && v.state === "running")) return;
  paceMoves(v, at);
  const span = SPANS[v.state];
  if (span) v.spent[span] = (v.spent[span] || 0) + Math.max(0, (at - Date.parse(v.since)) / 1000);
  v.state = m.to;
  v.since = new Date(at).toISOString();
  v.stop_reason = action === "stop" ? reason : undefined;
}
