// What the lines of the pace board come to: how far an operation is from its
// plan, and where what runs now stands against it.
import { html } from "../../lib/vendor/ui.js";
import { boards } from "../../lib/board.js";
import { Spread } from "../../lib/charts.js";
import { needsOf } from "../../lib/needs.js";
import { span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

const { about } = boards.pace;

/**
 * @typedef {import("../../lib/_types.js").Schema["Now"]} Now
 * @typedef {import("../../lib/_types.js").Schema["OpPace"]} Op
 * @typedef {import("../../lib/_types.js").Schema["Centre"]} Centre
 * @typedef {Op | Now} Row
 * @typedef {import("../../lib/_types.js").Schema["Spread"]} Figures
 */

// fewest is how many batches a conclusion needs.
const fewest = 5;

/**
 * timeText is a length in seconds, on one line.
 * @param {number} s
 */
export const timeText = (s) => hard(span(s * 1000));

/**
 * hard keeps a number and its unit on one line.
 * @param {string} text
 */
const hard = (text) => text.replaceAll(" ", "\u00a0");

/**
 * counted is how many batches tell something about a plan.
 * @param {Op} r
 */
export const counted = (r) => Math.max(r.setup.n, r.piece.n);

/**
 * deviation is by what part an operation took longer than planned, set-ups and
 * pieces of all its batches together; null where too few tell, or no plan does.
 * @param {Op} r
 */
export const deviation = (r) => (counted(r) >= fewest && r.plan_s > 0 ? r.actual_s / r.plan_s - 1 : null);

/**
 * deviationText says that as a sentence would.
 * @param {Op} r
 */
export function deviationText(r) {
  const d = deviation(r);
  if (d === null) return r.plan_s > 0 || counted(r) < fewest ? say("pace.few") : say("pace.no-plan");
  const percent = Math.round(Math.abs(d) * 100);
  return percent === 0 ? say("pace.even") : say(d > 0 ? "pace.over" : "pace.under", percent);
}

/** @type {(a: string, b: string) => number} */
const text = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
/**
 * @param {Op} a
 * @param {Op} b
 */
const byPart = (a, b) => text(a.part, b.part) || text(a.route_rev, b.route_rev) || a.operation - b.operation;
/** @param {Op} r */
const far = (r) => {
  const d = deviation(r);
  return d === null ? -1 : Math.abs(d);
};

/**
 * orders are the ways the operations can be sorted.
 * @type {Record<string, (a: Op, b: Op) => number>}
 */
export const orders = {
  deviation: (a, b) => far(b) - far(a) || byPart(a, b),
  part: byPart,
  centre: (a, b) => text(a.work_centre, b.work_centre) || byPart(a, b),
};

/**
 * openFor is the time in ms, between two moments, in which the machine of a row
 * could work: with no calendar, or running alone, all of it.
 * @param {Now} row
 * @param {number} from
 * @param {number} to
 */
function openFor(row, from, to) {
  if (to <= from) return 0;
  const centres = about.value?.centres ?? [],
    machines = centres.flatMap((c) => c.machines);
  const m = machines.find((x) => x.machine === row.machine);
  const h = m && m.calendar && about.value?.hours[m.calendar];
  if (!h || (m.unattended && row.state === "running") || from < h.from * 1000 - 1000) return to - from;
  let sum = 0;
  for (const [a, b] of h.spans) {
    if (a * 1000 >= to) break;
    sum += Math.max(0, Math.min(b * 1000, to) - Math.max(a * 1000, from));
  }
  return sum;
}

/**
 * standing is where a row stands at t: what the time so far was planned and was
 * (s), how it is past its plan (ms), and whether all pieces are counted.
 * @param {Now} row
 * @param {number} t
 */
export function standing(row, t) {
  const past = needsOf(row, t).includes("over") ? openFor(row, Date.parse(row.over_from ?? ""), t) : 0;
  if (row.state === "setting") {
    const actual = row.setup_s + openFor(row, Date.parse(row.at), t) / 1000;
    return { plan: row.plan_setup_s, actual, past, all: false };
  }
  const all = row.state === "running" && row.of > 0 && row.made >= row.of;
  return { plan: row.plan_piece_s * row.ran, actual: row.run_s, past, all };
}

/**
 * nowFirst sorts what runs now: past its plan (the most first), stopped, then by
 * the end that is expected.
 * @param {number} t
 * @returns {(a: Now, b: Now) => number}
 */
export function nowFirst(t) {
  const ends = (/** @type {Now} */ r) => (r.ends ? Date.parse(r.ends) : Infinity);
  const rank = (/** @type {Now} */ r) => (standing(r, t).past > 0 ? 0 : r.state === "stopped" ? 1 : 2);
  return (a, b) =>
    rank(a) - rank(b) ||
    standing(b, t).past - standing(a, t).past ||
    ends(a) - ends(b) ||
    text(a.machine, b.machine) ||
    text(a.key, b.key);
}

/**
 * opLink leads to the batches behind an operation.
 * @param {Op} r
 */
const opLink = (r) =>
  "/pace/operation?" +
  new URLSearchParams({ part: r.part, route_rev: r.route_rev, operation: String(r.operation) });

// Planned and actual of each operation of each route revision.

/**
 * Times is one time of an operation: the two marks, and in words what they are.
 * The actual time is the mean of all set-ups, or pieces, as on every page; median
 * and middle half say how batches differ. Under five batches there are neither.
 * @param {{name: string, planned: number, s: Figures}} props
 */
export function Times({ name, planned, s }) {
  if (s.n === 0)
    return html`<span class="soft">
      ${planned > 0 ? say("pace.planned", timeText(planned)) + ", " : ""}
      ${say("pace.none")}
    </span>`;
  const half = s.n >= fewest;
  const plan = planned > 0 ? say("pace.planned", timeText(planned)) : say("pace.unplanned");
  const was = say("pace.actual", timeText(s.mean_s)),
    spread = half ? say("pace.median", timeText(s.p50_s), timeText(s.p25_s), timeText(s.p75_s)) : "";
  const label = [plan, was, spread].filter(Boolean).join(", ");
  return html`<div class="two-times" data-test=${"pace-" + name}>
    <${Spread}
      planned=${planned}
      low=${s.p25_s}
      mid=${s.mean_s}
      high=${s.p75_s}
      half=${half}
      label=${label}
    />
    <small>${plan}, <b>${was}</b>${half ? "; " + spread : " – " + count("pace.only", s.n)}</small>
  </div>`;
}

/**
 * WaitTimes is the walk and wait before an operation; nobody plans it.
 * @param {{wait: Figures, worked: Figures}} props
 */
export function WaitTimes({ wait, worked }) {
  if (wait.n === 0) return html`<span class="soft">${say("pace.none")}</span>`;
  const half = wait.n >= fewest,
    time = (/** @type {number} */ s) => hard(span(s * 1000)),
    same = Math.abs(wait.p50_s - worked.p50_s) < 60;
  const was = half
    ? say("pace.median", time(wait.p50_s), time(wait.p25_s), time(wait.p75_s))
    : say("pace.median-only", time(wait.p50_s));
  const open = same ? "" : say("pace.open", time(worked.p50_s));
  return html`<div class="two-times" data-test="pace-wait">
    <${Spread}
      planned=${0}
      low=${wait.p25_s}
      mid=${wait.p50_s}
      high=${wait.p75_s}
      half=${half}
      second=${same ? undefined : worked.p50_s}
      label=${[was, open].filter(Boolean).join(", ")}
    />
    <small><b>${was}</b>${open && ", " + open}${!half ? " – " + count("pace.only", wait.n) : ""}</small>
  </div>`;
}

/**
 * Rests says on how many batches it rests, and how many were left out.
 * @param {{row: Op}} props
 */
export function Rests({ row }) {
  return html`
    ${count("pace.batches", row.batches)}
    ${row.left_out > 0 &&
    html` <small data-test="pace-left-out">${count("pace.left-out", row.left_out)}</small>`}
  `;
}

/** @param {{row: Op}} props */
function OpRow({ row }) {
  const cell = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<td class=${"p-" + name} data-label=${say("pace.head." + name)}>${content}</td>`;
  const d = deviation(row);
  return html`<tr
    data-test="pace-op"
    data-part=${row.part}
    data-rev=${row.route_rev}
    data-operation=${row.operation}
    data-centre=${row.work_centre}
    data-deviation=${d === null ? "" : d.toFixed(4)}>
    ${cell(
      "op",
      html`
        <a class="open-op" data-test="pace-open" href=${opLink(row)}>
          <b>${row.part}</b> ${say("operation.of", row.operation)}
        </a>
        <small>
          ${row.part_name ? row.part_name + ", " : ""}${say("pace.route", row.route_rev)}, ${row.work_centre}
        </small>
      `,
    )}
    ${cell("setup", html`<${Times} name="setup" planned=${row.plan_setup_s} s=${row.setup} />`)}
    ${cell("piece", html`<${Times} name="piece" planned=${row.plan_piece_s} s=${row.piece} />`)}
    ${cell("wait", html`<${WaitTimes} wait=${row.wait} worked=${row.worked} />`)}
    ${cell(
      "against",
      html`
        <b class=${d === null ? "soft" : ""} data-test="pace-deviation">${deviationText(row)}</b>${" "}
        <small><${Rests} row=${row} /></small>
      `,
    )}
  </tr>`;
}

const heads = ["op", "setup", "piece", "wait", "against"];

/** @param {{list: Op[]}} props */
export function OpTable({ list }) {
  return html`<table class="ops stack">
    <thead><tr>${heads.map((h) => html`<th key=${h} scope="col">${say("pace.head." + h)}</th>`)}</tr></thead>
    <tbody>${list.map((r) => html`<${OpRow} key=${r.key} row=${r} />`)}</tbody>
  </table>`;
}

const spreads = /** @type {const} */ (["setup", "piece", "wait", "worked"]),
  ofSpread = /** @type {const} */ (["n", "mean_s", "p25_s", "p50_s", "p75_s"]);

// opHead and opCells are an operation's line as CSV; times in seconds.
export const opHead = [
  "part",
  "part_name",
  "route_rev",
  "operation",
  "work_centre",
  "plan_setup_s",
  "plan_piece_s",
  ...spreads.flatMap((s) => ofSpread.map((k) => `${s}_${k}`)),
  "plan_s",
  "actual_s",
  "batches",
  "left_out",
];
/** @param {Op} r */
export const opCells = (r) => [
  r.part,
  r.part_name || "",
  r.route_rev,
  r.operation,
  r.work_centre,
  r.plan_setup_s,
  r.plan_piece_s,
  ...spreads.flatMap((s) => ofSpread.map((k) => r[s][k])),
  r.plan_s,
  r.actual_s,
  r.batches,
  r.left_out,
];
