// How the pieces of a batch stand along its route, as the program counts them
// (traveler/story/tally.go, locate.go): from what a device knows of a batch. No DOM
// here and no clock.

/**
 * @typedef {import("./_types.js").Known} Known
 * @typedef {import("./_types.js").KnownVisit} KnownVisit
 * @typedef {import("./_types.js").Tally} Tally
 * @typedef {import("./_types.js").Spot} Spot
 * @typedef {import("./_types.js").Machine} Machine
 */

/** @param {KnownVisit} v */
export const isOpen = (v) => v.state !== "finished" && !v.passed;

/**
 * Whether work on an operation has begun: what it needs was there then.
 * @param {Known} b
 * @param {number} op
 */
export const begun = (b, op) =>
  b.visits.some((v) => v.operation === op && !v.rework_for && v.state !== "waiting");

/**
 * The pieces of a visit that got an outcome.
 * @param {KnownVisit} v
 */
export const countedAt = (v) => v.good + v.scrap + v.rework + v.review + v.missing;

/**
 * @param {Known} b
 * @param {number} op
 */
export const indexOf = (b, op) => b.route.findIndex((o) => o.operation === op);

/**
 * The place of the first operation that is the batch's own.
 * @param {Known} b
 */
export function firstIndex(b) {
  const i = b.route.findIndex((o) => o.operation >= (b.first || 0));
  return i < 0 ? b.route.length : i;
}

/**
 * The tallies of a batch, in route order.
 * @param {Known} b
 * @returns {Tally[]}
 */
export function tallies(b) {
  const ts = b.route.map((o) => ({
    ...{ operation: o.operation, skipped: !!o.skipped, moved: o.moved, good: o.good, scrap: o.scrap },
    ...{ reworkOpen: o.rework_open, reviewOpen: o.review_open, missing: o.missing, assumed: o.assumed },
    ...{ counted: o.counted, said: !!o.said, seen: false, closed: false, busy: false },
    ...{ could: 0, came: 0, over: 0, toDo: 0 },
  }));
  for (const v of b.visits) {
    const t = ts[indexOf(b, v.operation)];
    if (v.rework_for || !t) continue;
    const finished = v.state === "finished";
    t.closed = finished && (t.closed || !t.seen);
    t.seen = true;
    t.busy ||= isOpen(v);
  }
  flow(b, ts);
  imply(b, ts);
  return ts;
}

/**
 * Lets the pieces run along the route.
 * @param {Known} b
 * @param {Tally[]} ts
 */
function flow(b, ts) {
  let known = b.started;
  let could = b.started;
  const first = firstIndex(b);
  ts.forEach((t, k) => {
    balance(t);
    if (k < first) {
      const { operation, moved, skipped } = t;
      const numbers = Object.entries(t).filter(([, v]) => typeof v === "number");
      Object.assign(t, Object.fromEntries(numbers.map(([name]) => [name, 0])));
      Object.assign(t, { operation, moved, skipped, said: false, seen: false, busy: false, closed: true });
      return;
    }
    known = Math.max(0, known + t.moved);
    could = Math.max(0, could + t.moved);
    if (k === first && t.counted > could) known = could = t.counted;
    t.could = Math.max(could, t.counted);
    t.came = Math.max(known, t.counted);
    const unseen = t.skipped && !t.seen;
    if (unseen) t.closed = true;
    if ((t.closed && !t.said && t.counted === 0) || unseen) {
      t.assumed = Math.max(0, t.could - t.counted);
      t.good += t.assumed;
      t.came = t.could;
    }
    t.toDo = t.came - t.counted - t.assumed;
    known = t.good;
    could = t.closed ? t.good : t.good + t.could - t.counted - t.assumed;
  });
}

/** @param {Tally} t */
function balance(t) {
  if (t.reworkOpen < 0) [t.counted, t.reworkOpen] = [t.counted - t.reworkOpen, 0];
  if (t.reviewOpen < 0) [t.counted, t.reviewOpen] = [t.counted - t.reviewOpen, 0];
}

/**
 * Pieces counted further on have passed the operation before.
 * @param {Known} b
 * @param {Tally[]} ts
 */
function imply(b, ts) {
  for (let k = ts.length - 1; k > firstIndex(b); k--) {
    const t = ts[k];
    const before = ts[k - 1];
    const need = t.came - t.moved - before.good;
    if (need <= 0) continue;
    if (before.closed) {
      t.over = need;
      continue;
    }
    const grow = Math.min(need, Math.max(0, before.could - before.counted - before.assumed));
    before.good += grow;
    before.assumed += grow;
    before.came = Math.max(before.came, before.counted + before.assumed);
    before.toDo = before.came - before.counted - before.assumed;
    t.over = need - grow;
  }
}

/**
 * What can still be counted at an operation.
 * @param {Tally} t
 */
export const leftOf = (t) => Math.max(0, t.could - t.counted - t.assumed);

/**
 * Good pieces at the end of the route, and those still somewhere on it.
 * @param {Known} b
 * @param {Tally[]} ts
 */
export function sumOf(b, ts) {
  const first = firstIndex(b);
  const end = (first >= ts.length ? b.started : ts[ts.length - 1].good) + b.end_moved;
  return { good: Math.max(0, end), toDo: ts.slice(first).reduce((n, t) => n + t.toDo, 0) };
}

/**
 * The pieces wanted that can't come any more.
 * @param {Known} b
 * @param {Tally[]} ts
 */
export function shortOf(b, ts) {
  if (b.cancelled || b.joined) return 0;
  const { good, toDo } = sumOf(b, ts);
  const open = ts.reduce((n, t) => n + t.reworkOpen + t.reviewOpen, 0);
  return Math.max(0, b.wanted - good - toDo - open);
}

/**
 * Whether an operation is over: all is counted and finished, or the batch was seen
 * further on.
 * @param {Known} b
 * @param {number} k
 * @param {Tally[]} ts
 */
export function isOver(b, k, ts) {
  const t = ts[k];
  if (k < firstIndex(b) || t.skipped) return true;
  if (!t.seen || t.busy) return false;
  const after = ts.some((x, j) => j > k && x.seen);
  return t.closed || after || (t.counted > 0 && t.could <= t.counted);
}

/**
 * The place of the first operation that is not over; the length when all are.
 * @param {Known} b
 * @param {Tally[]} ts
 */
export function nextIndex(b, ts) {
  const k = ts.findIndex((_, i) => !isOver(b, i, ts));
  return k < 0 ? ts.length : k;
}

/**
 * Whether a machine can work for a work centre.
 * @param {Machine | undefined} m
 * @param {string} wc
 */
export const canWork = (m, wc) => !!m && (m.machine === wc || m.work_centre === wc);

const BEGINS = ["setup", "arrive", "send"];

/**
 * Where a scan belongs: an operation (0 = none can be meant), the place of its visit
 * (-1 = a new one), the operation that sent pieces to rework.
 * @param {Known} b
 * @param {Tally[]} ts
 * @param {import("./_types.js").Fields & {action: string}} scan
 * @param {Machine | undefined} m
 * @returns {Spot}
 */
export function locate(b, ts, scan, m) {
  const of = (/** @type {number} */ i) => {
    const v = b.visits[i];
    return { op: v.operation, visit: i, rework: v.rework_for || 0, machine: v.machine };
  };
  const said = scan.visit ? b.visits.findIndex((v) => v.id === scan.visit) : -1;
  if (said >= 0) return of(said);
  let op = scan.operation || 0;
  if (scan.action === "firstoff" && hasCounts(scan)) {
    const at = awaitsVerdict(b, op, m?.machine);
    if (at >= 0) return of(at);
  }
  const spot = { op, visit: -1, rework: 0, machine: m?.machine || "" };
  if (scan.for && /^\d{1,5}$/.test(scan.for) && scan.action !== "decide") spot.rework = Number(scan.for);
  if (!spot.op) likelyOp(b, ts, scan, m, spot);
  spot.visit = openVisit(b, spot, scan.action);
  return spot;
}

/** @param {import("./_types.js").Fields} s */
export const hasCounts = (s) => countsOf(s).total > 0 || s.good !== undefined || s.missing !== undefined;

/** @type {(list: {n: number}[] | undefined) => number} */
const sum = (list) => (list || []).reduce((n, x) => n + x.n, 0);

/**
 * The pieces that a scan says.
 * @param {import("./_types.js").Fields} s
 */
export function countsOf(s) {
  const [scrap, rework, review] = [sum(s.scrap), sum(s.rework), sum(s.review)];
  const [good, missing] = [s.good || 0, s.missing || 0];
  return { good, scrap, rework, review, missing, total: good + scrap + rework + review + missing };
}

/**
 * The visit whose first piece waits for a verdict.
 * @param {Known} b
 * @param {number} op
 * @param {string} [machine]
 */
export function awaitsVerdict(b, op, machine) {
  let found = -1;
  b.visits.forEach((v, i) => {
    if (v.state === "finished" || (op && v.operation !== op) || v.first_off !== "waiting") return;
    if (found < 0 || v.machine === machine) found = i;
  });
  return found;
}

/**
 * @param {Known} b
 * @param {Tally[]} ts
 * @param {import("./_types.js").Fields & {action: string}} scan
 * @param {Machine | undefined} m
 * @param {Spot} spot
 */
function likelyOp(b, ts, scan, m, spot) {
  const on = unfinished(b, scan.action, spot);
  if (on >= 0) {
    spot.op = b.visits[on].operation;
    spot.rework = b.visits[on].rework_for || 0;
    return;
  }
  let last = 0;
  for (let k = firstIndex(b); k < b.route.length; k++) {
    const o = b.route[k];
    if (!canWork(m, o.work_centre)) continue;
    if (spot.rework) {
      if (o.operation <= spot.rework) last = o.operation;
      continue;
    }
    last = o.operation;
    if (!isOver(b, k, ts)) break;
  }
  const next = b.route[nextIndex(b, ts)]?.operation || 0;
  spot.op = last || spot.rework || next;
}

/**
 * @param {Known} b
 * @param {string} action
 * @param {Spot} spot
 */
function unfinished(b, action, spot) {
  let left = -1;
  for (let i = b.visits.length - 1; i >= 0; i--) {
    const v = b.visits[i];
    if (v.machine !== spot.machine || v.state === "finished") continue;
    if (spot.rework && (v.rework_for || 0) !== spot.rework) continue;
    if (isOpen(v)) return i;
    if (left < 0 && !BEGINS.includes(action)) left = i;
  }
  return left;
}

/**
 * @param {Known} b
 * @param {Spot} spot
 * @param {string} action
 */
function openVisit(b, spot, action) {
  let finished = -1;
  for (let i = b.visits.length - 1; i >= 0; i--) {
    const v = b.visits[i];
    if (v.machine !== spot.machine || v.operation !== spot.op || (v.rework_for || 0) !== spot.rework)
      continue;
    if (v.state === "finished") {
      if (finished < 0) finished = i;
      continue;
    }
    return v.passed && BEGINS.includes(action) ? -1 : i;
  }
  return action === "count" || action === "receive" ? finished : -1;
}

/**
 * The good pieces that a reading of the machine's counter stands for.
 * @param {import("./_types.js").Scanned} s
 * @param {KnownVisit | undefined} v
 */
export function fromCounter(s, v) {
  if (s.reads === undefined || s.good !== undefined || !["count", "finish"].includes(s.action)) return 0;
  const n = s.reads - (v?.reads ?? 0);
  const c = countsOf(s);
  return Math.max(0, (n < 0 ? s.reads : n) - c.scrap - c.rework - c.review - c.missing);
}

/**
 * The rejection of a first-off that bars the run at a spot, or null.
 * @param {Known} b
 * @param {Spot} spot
 */
export function rejection(b, spot) {
  const all = [
    ...(b.inherited || []).map((v) => ({ v, own: false })),
    ...b.visits.map((v) => ({ v, own: true })),
  ];
  const decided = all.reverse().filter(({ v }) => {
    const here = v.operation === spot.op && (v.rework_for || 0) === spot.rework;
    return here && (v.first_off === "accepted" || v.rejected);
  });
  const at = (/** @type {KnownVisit} */ v) => v.machine === spot.machine;
  let last = decided.find((d) => d.own && at(d.v))?.v;
  if (!last && b.route[indexOf(b, spot.op)]?.first_off) {
    last = (decided.find((d) => at(d.v)) || decided[0])?.v;
  }
  return last?.rejected && !last.rejected.overrule ? last.rejected : null;
}
