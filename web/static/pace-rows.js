// What the lines of the pace board come to: how far an operation is from its
// plan, and where what runs now stands against it.
import {about} from "/static/board.js";
import {perPiece, span} from "/static/times.js";
import {say} from "/static/words.js";

// fewest is how many batches a conclusion needs.
export const fewest = 5;

// timeText is a length in seconds: with seconds up to ten minutes, as set-ups
// and pieces are told; longer ones as everywhere.
export const timeText = (s) => hard(s < 600 ? perPiece(s / 60) : span(s * 1000));

// hard keeps a number and its unit on one line.
export const hard = (text) => text.replaceAll(" ", "\u00a0");

// counted is how many batches tell something about a plan.
export const counted = (r) => Math.max(r.setup.n, r.piece.n);

// deviation is by what part an operation took longer than planned, set-ups and
// pieces of all its batches together; null where too few tell, or no plan does.
export const deviation = (r) => (counted(r) >= fewest && r.plan_s > 0 ? r.actual_s / r.plan_s - 1 : null);

// deviationText says that as a sentence would.
export function deviationText(r) {
  const d = deviation(r);
  if (d === null) return r.plan_s > 0 || counted(r) < fewest ? say("pace.few") : say("pace.no-plan");
  const percent = Math.round(Math.abs(d) * 100);
  return percent === 0 ? say("pace.even") : say(d > 0 ? "pace.over" : "pace.under", percent);
}

const text = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
const byPart = (a, b) => text(a.part, b.part) || text(a.route_rev, b.route_rev) || a.operation - b.operation;
const far = (r) => { const d = deviation(r); return d === null ? -1 : Math.abs(d); };

// orders are the ways the operations can be sorted.
export const orders = {
  deviation: (a, b) => far(b) - far(a) || byPart(a, b),
  part: byPart,
  centre: (a, b) => text(a.work_centre, b.work_centre) || byPart(a, b),
};

// openFor is the time in ms, between two moments, in which the machine of a row
// could work: with no calendar, or running alone, all of it.
export function openFor(row, from, to) {
  if (to <= from) return 0;
  const machines = ((about.value && about.value.centres) || []).flatMap((c) => c.machines);
  const m = machines.find((x) => x.machine === row.machine);
  const h = m && m.calendar && ((about.value.hours || {})[m.calendar]);
  if (!h || (m.unattended && row.state === "running") || from < h.from * 1000 - 1000) return to - from;
  let sum = 0;
  for (const [a, b] of h.spans) {
    if (a * 1000 >= to) break;
    sum += Math.max(0, Math.min(b * 1000, to) - Math.max(a * 1000, from));
  }
  return sum;
}

// standing is where a row stands at t: what the time so far was planned and was
// (s), how it is past its plan (ms), and whether all pieces are counted.
export function standing(row, t) {
  const at = Date.parse(row.at), ends = row.ends ? Date.parse(row.ends) : NaN;
  if (row.state === "setting") {
    const actual = row.setup_s + openFor(row, at, t) / 1000;
    return {plan: row.plan_setup_s, actual, past: row.plan_setup_s > 0 ? Math.max(0, actual - row.plan_setup_s) * 1000 : 0, all: false};
  }
  if (row.state !== "running") return {plan: row.plan_piece_s * row.ran, actual: row.run_s, past: 0, all: false};
  const all = row.of > 0 && row.made >= row.of;
  const past = Number.isNaN(ends) ? 0 : openFor(row, ends, t);
  return {plan: row.plan_piece_s * row.ran, actual: row.run_s, past: past >= 60000 ? past : 0, all};
}

// needs says that someone should look: past its plan, or standing still.
export const needs = (row, t) => row.state === "stopped" || standing(row, t).past > 0;

// nowFirst sorts what runs now: past its plan (the most first), stopped, then by
// the end that is expected.
export function nowFirst(t) {
  const ends = (r) => (r.ends ? Date.parse(r.ends) : Infinity);
  const rank = (r) => (standing(r, t).past > 0 ? 0 : r.state === "stopped" ? 1 : 2);
  return (a, b) => rank(a) - rank(b) || standing(b, t).past - standing(a, t).past || ends(a) - ends(b) || text(a.machine, b.machine) || text(a.key, b.key);
}

// opLink leads to the batches behind an operation.
export const opLink = (r) => "/pace/operation?" + new URLSearchParams({part: r.part, route_rev: r.route_rev, operation: r.operation});
