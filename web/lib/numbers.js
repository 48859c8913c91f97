// Numbers as people read them: in the page's own way, and none with more digits
// than tell something.
import { span } from "./times.js";
import { locale, say } from "./words.js";

const whole = new Intl.NumberFormat(locale, { maximumFractionDigits: 0 });
const tenth = new Intl.NumberFormat(locale, { maximumFractionDigits: 1 });
/** @type {Map<number, Intl.NumberFormat>} */
const formats = new Map();

/**
 * fixed is a number with so many decimals.
 * @param {number} v
 * @param {number} digits
 */
export function fixed(v, digits) {
  let f = formats.get(digits);
  if (!f) {
    f = new Intl.NumberFormat(locale, { minimumFractionDigits: digits, maximumFractionDigits: digits });
    formats.set(digits, f);
  }
  return f.format(v).replace("-", "−");
}

const decimalSign = tenth.formatToParts(0.5).find((p) => p.type === "decimal")?.value ?? ".";

/**
 * entry is a number as someone would type it: the decimal sign of the page, nothing
 * between thousands.
 * @param {number | string | undefined} v
 */
export const entry = (v) => String(v ?? "").replace(".", decimalSign);

/**
 * typed is the number that someone typed, with a point or a comma; NaN for what is none.
 * @param {string} text
 */
export function typed(text) {
  const t = text.trim().replace(",", ".").replace("−", "-");
  return t === "" ? NaN : Number(t);
}

/**
 * number is a number with its thousands apart; small ones keep a decimal.
 * @param {number} v
 */
export const number = (v) => (Math.abs(v) < 10 && v % 1 !== 0 ? tenth : whole).format(v);

/**
 * tidy is a number with at most one decimal.
 * @param {number} v
 */
export const tidy = (v) => tenth.format(v);

/**
 * percent is a part of one with as many decimals as tell something.
 * @param {number | null | undefined} x
 */
export function percent(x) {
  if (x === null || x === undefined) return say("none");
  const v = 100 * x;
  const digits = v === 0 || v === 100 || (v >= 10 && v <= 90) ? 0 : v > 99.9 || v < 0.1 ? 2 : 1;
  return say("percent", fixed(v, digits));
}

/**
 * wholePercent is for where decimals would be in the way.
 * @param {number} x
 */
export const wholePercent = (x) => say("percent", fixed(100 * x, 0));

/**
 * hours is machine time, from seconds: a span below a day, else hours, since a
 * machine's day has not 24 of them.
 * @param {number} s
 */
export const hours = (s) => (s < 86400 ? span(s * 1000) : say("hours", number(s / 3600)));
