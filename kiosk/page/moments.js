// An earlier time that was picked, and who may take back what. No DOM here and no
// clock: times are arguments, in milliseconds.

import { BADGE_KEEP_MS, BADGE_MS } from "./consts.js";

/**
 * When is what was picked, and when (set): minutes ago, or a moment in ms.
 * @typedef {{set: number, ago?: number, at?: number}} When
 * @typedef {{person: string}} Person
 * @typedef {import("./_types.js").Scanned} Scanned
 * @typedef {{id: string, scan: Scanned}} Entry
 */

// A picked time is for what is said next: it does not lie in wait for the next one.
export const LAPSE_MS = 60000;
// Counting takes longer.
export const LAPSE_PAD_MS = 3 * 60000;

/**
 * Whether what was picked is too long ago to be meant still.
 * @param {When | null} when
 * @param {number} now
 * @param {boolean} padOpen
 */
export const lapsed = (when, now, padOpen) => !!when && now - when.set >= (padOpen ? LAPSE_PAD_MS : LAPSE_MS);

/**
 * The fields of a scan that say when it happened; none for now.
 * @param {When | null} when
 * @param {number} now
 * @returns {{happened?: string}}
 */
export function happened(when, now) {
  if (!when) return {};
  return { happened: new Date(Math.round(when.at ?? now - (when.ago ?? 0) * 60000)).toISOString() };
}

/**
 * Until when someone who is there now is taken to be there, in ms since 1970: to the end
 * of the shift, at most a set time. Who comes or stays when it is about to end is of the
 * next shift, or works on: for half an hour, then the station asks again.
 * @param {number} now
 * @param {number} end of the shift; 0 where none is known
 */
export function thereUntil(now, end) {
  const most = now + BADGE_MS;
  if (end <= now) return most;
  return end - now < BADGE_KEEP_MS ? now + BADGE_KEEP_MS : Math.min(end, most);
}

// Who may take back what: the one who is at the station now, and only what that
// one said. No DOM here.

/** @type {(who: Person | null) => string} */
const person = (who) => who?.person || "";

/**
 * Whether a kept scan is of the one who is there now.
 * @param {Entry | null} entry
 * @param {Person | null} who
 */
export const isOwn = (entry, who) => !!entry && (entry.scan.operator || "") === person(who);

/**
 * A scan as the one who is there now says it.
 * @template {Scanned} T
 * @param {T} scan
 * @param {Person | null} who
 */
export function spokenBy(scan, who) {
  const { operator, ...rest } = scan;
  return person(who) ? { ...rest, operator: person(who) } : rest;
}

/**
 * The scan that takes an earlier one back; null for what is not one's own.
 * @param {Entry} entry
 * @param {Person | null} who
 * @param {string} language
 */
export function undoScan(entry, who, language) {
  if (!isOwn(entry, who)) return null;
  return spokenBy(
    { station: entry.scan.station, card: entry.scan.card, action: "undo", for: entry.id, language },
    who,
  );
}
