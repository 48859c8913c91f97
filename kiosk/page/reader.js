// Tells a typing scanner from a person, by the time between keys. A scanner may
// take up to 150 ms a key and lose one, a person types as fast: so keys wait
// until nothing follows, and what they were is decided then. What cannot be told
// apart presses nothing. No DOM here and no clock: times are arguments, in
// milliseconds.
import { parseRef } from "./refs.js";

// Twice 150 ms, for a key that was lost, and half as much again for jitter.
const QUIET_MS = 450;
const SLOWEST_QUIET_MS = 1000;
const LEARNING_MS = 1500; // between the keys of a test card
const SHY_MS = 1500; // after a broken code, digits are its remains
const MACHINE_MS = 45; // no person keeps this up
const LEAST = 4; // shortest works order that a scanner ends with Enter
const LEAST_OPEN = 8; // and without one
const LONGEST_NUMBER = 7; // digits that someone types into a pad

/**
 * What came in, once it is decided:
 *   scan   a scanner read it: keys, gaps between them, and how it ended
 *   typed  a person typed it into what wants typing
 *   press  one key by itself, with quiet before and after
 *   broken a scanner's, but not whole
 *   loose  several keys of which nobody knows what they were: they do nothing
 * @typedef {'scan'|'typed'|'press'|'broken'|'loose'} Kind
 * @typedef {{kind: Kind, tokens: string[], gaps: number[], end: string}} Decision
 */

/**
 * Rhythm is what is known of a scanner: mean and slowest time between keys, in
 * ms, and what it ends with, where that is known.
 * @typedef {{mean: number, slowest: number, end?: string}} Rhythm
 */

/**
 * Reading is what came and is not decided yet, and when, in ms.
 * @typedef {object} Reading
 * @property {(tokens: string[]) => string} meant
 * @property {Rhythm | null} rhythm
 * @property {string[]} tokens
 * @property {number[]} times
 * @property {number} last
 * @property {number} before
 * @property {number} ended
 * @property {number} shyUntil
 * @property {boolean} learning
 */

/**
 * A reader of keys. meant says what keys stand for on this device's keyboard
 * layout; rhythm is what is known of its scanner, if anything.
 * @param {(tokens: string[]) => string} [meant]
 * @param {Rhythm | null} [rhythm]
 */
export function newReader(meant = (tokens) => tokens.join(""), rhythm = null) {
  /** @type {Reading} */
  const r = {
    meant,
    rhythm,
    tokens: [],
    times: [],
    last: -Infinity,
    before: -Infinity,
    ended: -Infinity,
    shyUntil: -Infinity,
    learning: false,
  };
  return {
    /** A character at a time. What came before it and is over has to be taken with rest first. */
    key: (/** @type {string} */ token, /** @type {number} */ at) => key(r, token, at),
    /** Enter or Tab. null when it is a key by itself; else it belongs to what was typed. */
    end: (/** @type {string} */ name, /** @type {number} */ at, /** @type {string} */ wants) =>
      end(r, name, at, wants),
    /** Nothing came until now. */
    rest: (/** @type {number} */ at, /** @type {string} */ wants) =>
      at >= due(r) ? decide(r, "", wants) : null,
    /** When to look whether nothing came. */
    due: () => due(r),
    busy: () => r.tokens.length > 0,
    setLearning: (/** @type {boolean} */ on) => (r.learning = on),
    setRhythm: (/** @type {Rhythm | null} */ known) => (r.rhythm = known),
  };
}

/**
 * How long nothing must come before what was typed is over.
 * @param {Reading} r
 */
function quiet(r) {
  if (r.learning) return LEARNING_MS;
  return Math.min(SLOWEST_QUIET_MS, Math.max(QUIET_MS, 2.5 * (r.rhythm?.slowest || 0)));
}

/**
 * A whole code without Enter need not wait as long as a person would.
 * @param {Reading} r
 */
function due(r) {
  if (!r.tokens.length) return Infinity;
  const own = 3 * Math.max(...gapsOf(r.times), 0);
  const whole = r.tokens.length >= LEAST_OPEN && parseRef(r.meant(r.tokens)).code;
  return r.last + (whole ? Math.min(quiet(r), Math.max(80, own)) : quiet(r));
}

/**
 * @param {Reading} r
 * @param {string} token
 * @param {number} at
 */
function key(r, token, at) {
  if (!r.tokens.length) r.before = r.last;
  r.tokens.push(token);
  r.times.push(at);
  r.last = at;
}

/**
 * @param {Reading} r
 * @param {string} name
 * @param {number} at
 * @param {string} wants
 * @returns {Decision | null}
 */
function end(r, name, at, wants) {
  const near = at - r.last <= quiet(r);
  if (r.tokens.length && near) {
    r.ended = at;
    return decide(r, name, wants);
  }
  // The second of two keys that a scanner ends with, or one after a code that
  // was whole already.
  if (at - Math.max(r.ended, r.last) <= quiet(r)) return { kind: "loose", tokens: [], gaps: [], end: name };
  return null;
}

/** @type {(times: number[]) => number[]} */
const gapsOf = (times) => times.slice(1).map((t, i) => t - times[i]);

/**
 * @param {Reading} r
 * @param {string} endKey
 * @param {string} wants
 * @returns {Decision}
 */
function decide(r, endKey, wants) {
  const read = { tokens: r.tokens, gaps: gapsOf(r.times), end: endKey };
  const quietBefore = r.times[0] - r.before > quiet(r) && r.times[0] > r.shyUntil;
  const out = { ...read, kind: kindOf(r, read, wants, quietBefore) };
  if (out.kind === "broken" || out.kind === "loose") r.shyUntil = r.last + SHY_MS;
  r.tokens = [];
  r.times = [];
  return out;
}

/**
 * wants is what the view on top takes: press, digits or text; field while a field has the focus.
 * @param {Reading} r
 * @param {{tokens: string[], gaps: number[], end: string}} props
 * @param {string} wants
 * @param {boolean} quietBefore
 * @returns {Kind}
 */
function kindOf(r, { tokens, gaps, end }, wants, quietBefore) {
  const text = r.meant(tokens);
  const n = tokens.length;
  if ((r.learning && n >= LEAST) || parseRef(text).code) return "scan";
  const machine = n > 1 && byMachine(r.rhythm, gaps);
  if (machine && isLong(r, n, end)) return "scan";
  if (wants === "field") return "typed";
  if (n < LEAST) return machine && end ? "broken" : few(text, wants, end, quietBefore);
  const hand = wants === "digits" && isNumber(text);
  if (end && !hand) return "scan";
  if (wants === "text") return "typed";
  return hand && quietBefore ? "typed" : "broken";
}

/**
 * Whether a scanner's keys are enough for a works order.
 * @param {Reading} r
 * @param {number} n
 * @param {string} end
 */
function isLong(r, n, end) {
  return n >= (end || r.rhythm?.end === "" ? LEAST : LEAST_OPEN);
}

/**
 * Too few for a scan: a key by itself, digits of a count, or what is left of a code.
 * @param {string} text
 * @param {string} wants
 * @param {string} end
 * @param {boolean} quietBefore
 * @returns {Kind}
 */
function few(text, wants, end, quietBefore) {
  if (wants === "text") return "typed";
  if (!quietBefore) return "loose";
  if (wants === "digits") return /^([a-z]?\d+|[a-z])$/i.test(text) ? "typed" : "loose";
  return text.length === 1 && !end ? "press" : "loose";
}

/**
 * Digits that someone may have typed by hand.
 * @type {(text: string) => boolean}
 */
const isNumber = (text) => /^\d+$/.test(text) && text.length <= LONGEST_NUMBER;

/**
 * Faster than hands, or in the time that this device's scanner was seen to keep.
 * @param {Rhythm | null} rhythm
 * @param {number[]} gaps
 */
function byMachine(rhythm, gaps) {
  const most = Math.max(...gaps);
  if (most <= MACHINE_MS) return true;
  if (!rhythm?.mean || rhythm.mean > 120 || gaps.length < 3) return false;
  const mean = meanOf(gaps);
  return Math.abs(mean - rhythm.mean) <= 0.25 * rhythm.mean && most <= 1.3 * rhythm.slowest;
}

/** @type {(list: number[]) => number} */
const meanOf = (list) => list.reduce((a, b) => a + b, 0) / list.length;

/**
 * The rhythm of a scanner after one more scan by it: mean and slowest time
 * between keys, and what it ends with. card is true for the test card, which is
 * long enough to count for all.
 * @param {Rhythm | null} known
 * @param {{gaps: number[], end: string}} props
 * @param {boolean} [card]
 * @returns {Rhythm | null}
 */
export function learnRhythm(known, { gaps, end }, card = false) {
  if (gaps.length < 3) return known;
  const [mean, slowest] = [Math.round(meanOf(gaps)), Math.round(Math.max(...gaps))];
  if (card || !known) return { mean, slowest, ...(card && { end }) };
  // A slower scan counts at once, a faster one little by little.
  return {
    ...known,
    mean: Math.round(0.8 * known.mean + 0.2 * mean),
    slowest: Math.round(Math.max(slowest, 0.9 * known.slowest)),
  };
}
