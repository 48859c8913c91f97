// Amounts as the pages of figures say them.
import {locale, say} from "/static/words.js";
import {shortSpan} from "/static/times.js";

const whole = new Intl.NumberFormat(locale, {maximumFractionDigits: 0});
const tenth = new Intl.NumberFormat(locale, {maximumFractionDigits: 1});

// number is a number with its thousands apart; small ones keep a decimal.
export const number = (v) => (Math.abs(v) < 10 && v % 1 !== 0 ? tenth : whole).format(v);

// tidy is a number with at most one decimal.
export const tidy = (v) => tenth.format(v);

// percent has as many decimals as tell something.
export function percent(x) {
  if (x === null || x === undefined) return say("none");
  const v = 100 * x;
  return say("percent", v === 0 || v === 100 || (v >= 10 && v <= 90) ? v.toFixed(0) : v > 99.9 || v < 0.1 ? v.toFixed(2) : v.toFixed(1));
}

// wholePercent is for where decimals would be in the way.
export const wholePercent = (x) => say("percent", Math.round(100 * x));

// hours is machine time: hours, or minutes below one.
export const hours = (s) => (s < 3600 ? shortSpan(s * 1000) : say("hours", number(s / 3600)));
