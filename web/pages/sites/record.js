// How far the record of a site was read, in words.
import { number } from "../../lib/numbers.js";
import { moment } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

/** @typedef {import("../../lib/_types.js").Schema["Site"]} Site */

/** @param {Site} s */
export function recordText(s) {
  if (!s.reached) {
    if (s.as_of) return say("sites.record.apart", moment(s.as_of));
    return s.newest ? say("sites.record.old", moment(s.newest)) : say("sites.record.empty");
  }
  if (!s.as_of) return say("sites.record.reading", number(s.behind));
  if (s.behind > 0) return count("sites.record.behind", s.behind, moment(s.as_of));
  return say(s.servers ? "sites.record.good" : "sites.record.closed", moment(s.as_of));
}

/**
 * asOf is as of when the figures of a site are, where that is not now.
 * @param {Site} s
 */
export function asOf(s) {
  if (s.reached && s.as_of && !s.behind) return "";
  const t = s.as_of || s.newest;
  return t ? say("sites.asof", moment(t)) : say("sites.record.empty");
}

/**
 * restsOn is how many sites a figure of all is of, and which of them are not as of now.
 * @param {Site[]} sites
 * @param {number} [n]
 */
export function restsOn(sites, n = sites.length) {
  const older = sites.filter(asOf).map((s) => s.name);
  const of = count("sites.finished.sites", n);
  return older.length ? of + "; " + say("sites.all.older", older.join(", ")) : of;
}
