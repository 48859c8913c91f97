// Working time on the page: the open hours of each work centre come with the
// waits board, as pairs of Unix seconds.
import {about} from "/static/board.js";

const hoursOf = (centre) => {
  const c = about.value && (about.value.centres || []).find((x) => x.work_centre === centre);
  return c && c.hours ? (about.value.hours || {})[c.hours] : null;
};

// worked is the working time of a work centre between two moments, in ms; null
// when it has no calendar, or the hours do not reach back so far.
export function worked(centre, since, t) {
  const h = hoursOf(centre);
  if (!h || since < h.from * 1000 - 1000) return null;
  let sum = 0;
  for (const [from, to] of h.spans) {
    if (from * 1000 >= t) break;
    sum += Math.max(0, Math.min(to * 1000, t) - Math.max(from * 1000, since));
  }
  return sum;
}

// openAt says whether a work centre is open at a moment, and until when it is
// or stays closed; always open without a calendar.
export function openAt(centre, t) {
  const h = hoursOf(centre);
  if (!h) return {open: true, until: 0};
  for (const [from, to] of h.spans) {
    if (t < from * 1000) return {open: false, until: from * 1000};
    if (t < to * 1000) return {open: true, until: to * 1000};
  }
  return {open: false, until: 0};
}

// runsAlone says whether a machine may run while its work centre is closed.
function runsAlone(row) {
  const c = about.value && (about.value.centres || []).find((x) => x.work_centre === row.work_centre);
  const m = c && c.machines.find((x) => x.machine === row.machine);
  return Boolean(m && m.unattended) && row.state === "running";
}

// atWork is how long a row has been at what it is at, at t, in ms: without closed
// time, unless its machine may run alone.
export function atWork(row, t) {
  const since = Date.parse(row.since);
  const open = row.state === "outside" || runsAlone(row) ? null : worked(row.work_centre, since, t);
  return Math.max(0, open === null ? t - since : open);
}

// pastPlan is by how many ms a row at work is past its plan, at t; 0 if it is not.
export function pastPlan(row, t) {
  return row.planned_s ? Math.max(0, atWork(row, t) - row.planned_s * 1000) : 0;
}
