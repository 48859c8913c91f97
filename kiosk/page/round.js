// The round for a new hand: what a batch needs at a machine, from its card to the end,
// each said once. What is done already follows from what was said.

/** @typedef {import("./_types.js").Entry} Entry */

/** @type {[string, (s: import("./_types.js").Scanned, all: Entry[]) => unknown][]} */
const TASKS = [
  ["setup", (s) => s.action === "setup"],
  ["firstoff", (s) => s.action === "firstoff" && s.good === undefined],
  ["pass", (s) => s.action === "firstoff" && !!s.good],
  ["run", (s) => s.action === "run"],
  ["good", (s) => s.action === "count" && !!s.good],
  ["scrap", (s) => ["count", "finish"].includes(s.action || "") && !!s.scrap],
  ["stop", (s) => s.action === "stop"],
  ["again", (s, all) => s.action === "run" && all.some((e) => e.scan.action === "stop")],
  ["undo", (s) => s.action === "undo"],
  ["finish", (s) => s.action === "finish"],
];

/**
 * What the round asks for, in the order in which it is best tried.
 * @param {Entry[]} entries what was said in practice, the oldest first
 * @param {boolean} opened whether the card was read
 * @returns {{task: string, done: boolean}[]}
 */
export function roundOf(entries, opened) {
  const said = TASKS.map(([task, is]) => ({
    task,
    done: entries.some((e, i) => is(e.scan, entries.slice(0, i))),
  }));
  return [{ task: "read", done: opened || entries.length > 0 }, ...said];
}

/**
 * The batch that is practised on: ten pieces that wait at this machine, with a first-off.
 * @param {string} card
 * @param {string} machine
 * @param {string} workCentre
 * @param {string} released
 */
export const practiceBatch = (card, machine, workCentre, released) => ({
  ...{ card, seq: 0, part: "P-000", works_order: "PRACTICE", released, started: 10, wanted: 10 },
  ...{ place: machine, visits: [] },
  route: [
    {
      ...{ operation: 10, work_centre: workCentre, setup_min: 20, cycle_min: 1 },
      ...{ pieces_per_cycle: 1, first_off: true },
    },
  ],
});
