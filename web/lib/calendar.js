// A calendar of the shop as it is written: the version that holds on a date, and what
// is posted to change it.
import { dayOf } from "./times.js";

/** @typedef {import("./_types.js").Schema["Turn"]} Turn */
/** @typedef {{calendar: string, zone: string, turns: Turn[], from?: string}} Version */

/**
 * versionOn is the version of a calendar that holds on a date, with the date
 * from which it does where that is still to come.
 * @param {Version & {ahead: (Version & {from: string})[]}} c
 * @param {string} date
 * @returns {Version}
 */
export function versionOn(c, date) {
  let v = { calendar: c.calendar, zone: c.zone, turns: c.turns, from: "" };
  for (const a of c.ahead)
    if (dayOf(a.from) <= date)
      v = { calendar: a.calendar, zone: a.zone, turns: a.turns, from: dayOf(a.from) };
  return v;
}

/**
 * calendarBody is a calendar as the server takes it; from today on means from now on,
 * after all that was changed before.
 * @param {Version} c
 * @param {string | undefined} from
 * @param {string} today
 * @param {Record<string, unknown>} [more]
 */
export function calendarBody(c, from, today, more = {}) {
  return {
    calendar: c.calendar,
    ...(c.zone ? { zone: c.zone } : {}),
    turns: c.turns,
    ...(from && from > today ? { from } : {}),
    ...more,
  };
}
