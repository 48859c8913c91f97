// What can be said of a batch while the server does not answer: what most likely
// follows what was said last. No DOM here.

/**
 * @typedef {Record<string, any>} Scanned
 * @typedef {{wanted?: boolean, state?: string}} FirstOff
 * @typedef {{card: string, operation?: number, good?: number, left?: number, first_off?: FirstOff} &
 *   Record<string, any>} View
 */

/** @type {Record<string, {action: string, key: string, needs: string}>} */
const STEP = {
  arrive: { action: "arrive", key: "arrive", needs: "" },
  setup: { action: "setup", key: "setup", needs: "" },
  firstoff: { action: "firstoff", key: "firstoff", needs: "" },
  run: { action: "run", key: "run", needs: "" },
  count: { action: "count", key: "count", needs: "counts" },
  finish: { action: "finish", key: "finish", needs: "counts" },
  stop: { action: "stop", key: "stop", needs: "reason:stop" },
};

/**
 * What most likely follows an action.
 * @type {Record<string, string[]>}
 */
const NEXT = {
  "": ["setup", "run", "arrive", "count", "finish", "stop"],
  arrive: ["setup", "run", "count", "finish", "stop"],
  setup: ["run", "firstoff", "stop", "count", "finish"],
  firstoff: ["setup", "stop", "count", "finish", "run"],
  run: ["count", "finish", "stop", "setup"],
  count: ["count", "finish", "stop", "setup"],
  stop: ["run", "count", "finish", "setup"],
  finish: ["arrive", "setup", "run", "count"],
};

/** @type {Record<string, string>} */
const STATE = {
  setup: "setting",
  run: "running",
  count: "running",
  stop: "stopped",
  firstoff: "firstoff",
  finish: "finished",
  arrive: "waiting",
};

/**
 * The steps after an action. While a first-off is with inspection none is likely;
 * where one must pass and has not, or was refused, it comes before the run.
 * @param {string} action
 * @param {FirstOff} [first]
 * @param {object} [aim]
 */
function stepsAfter(action, first = {}, aim = {}) {
  let keys = NEXT[action] || NEXT[""];
  if (first.wanted && first.state !== "accepted" && action === "setup")
    keys = ["firstoff", ...keys.filter((k) => k !== "firstoff")];
  if (first.state === "refused") keys = ["firstoff", ...keys.filter((k) => k !== "run" && k !== "firstoff")];
  return keys.map((k, i) => ({ ...STEP[k], ...aim, likely: i === 0 && action !== "firstoff" }));
}

/**
 * What can be said of any card.
 * @param {string} ref
 */
export function plainView(ref) {
  return { card: ref, alone: true, steps: stepsAfter("") };
}

/**
 * A view carried on by what was said of it.
 * @param {View} view
 * @param {Scanned} scan
 */
export function predicted(view, scan) {
  if (!NEXT[scan.action]) return { ...view, alone: true };
  const n = (/** @type {{n: number}[] | undefined} */ l) => (l || []).reduce((sum, x) => sum + x.n, 0);
  const lost = (scan.missing || 0) + n(scan.scrap) + n(scan.rework) + n(scan.review);
  const counted = (scan.good || 0) + lost;
  const first = firstOff(view.first_off, scan, counted);
  const aim = view.operation ? { operation: view.operation, for: scan.for } : {};
  return {
    ...view,
    alone: true,
    visit_state:
      counted && scan.action === "firstoff" ? (scan.good ? "ready" : "setting") : STATE[scan.action],
    good: (view.good || 0) + (scan.good || 0),
    first_off: first,
    left: view.left === undefined ? undefined : Math.max(0, view.left - counted),
    steps: stepsAfter(after(scan, counted), first, aim),
  };
}

/**
 * A verdict leads on to the run, or back to the set-up.
 * @type {(scan: Scanned, counted: number) => string}
 */
const after = (scan, counted) =>
  scan.action === "firstoff" && counted ? (scan.good ? "stop" : "setup") : scan.action;

/**
 * @param {FirstOff | undefined} before
 * @param {Scanned} scan
 * @param {number} counted
 */
function firstOff(before, scan, counted) {
  if (scan.action !== "firstoff") return before;
  return { ...before, state: !counted ? "waiting" : scan.good ? "accepted" : "refused" };
}
