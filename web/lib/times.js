// Times, spans and dates as the shop says them: always with the unit, in the
// shop's own zone.
import { now } from "./clock.js";
import { locale, say } from "./words.js";

/** @type {string | undefined} */
let zone; // undefined = the browser's own

/** @param {string} name */
export function setZone(name) {
  try {
    new Intl.DateTimeFormat(locale, { timeZone: name });
    zone = name === "Local" ? undefined : name;
  } catch {
    zone = undefined;
  }
}

const formats = new Map();
/** @param {Intl.DateTimeFormatOptions} options */
function format(options) {
  const key = JSON.stringify([zone, options]);
  if (!formats.has(key))
    formats.set(key, new Intl.DateTimeFormat(locale, { timeZone: zone, hourCycle: "h23", ...options }));
  return formats.get(key);
}

// plain is a day's name and a date without the comma that some browsers put
// between them.
const plain = (/** @type {string} */ text) => text.replace(/^(\p{L}{2,4}),/u, "$1");

/** @type {Intl.DateTimeFormatOptions} */
const hm = { hour: "2-digit", minute: "2-digit" };
/** @type {(t: string | number) => number} */
const ms = (t) => (typeof t === "number" ? t : Date.parse(t));

/**
 * dayOf is the shop's date of a moment, as 2026-11-25.
 * @param {string | number} t
 */
export function dayOf(t) {
  const p = parts(ms(t));
  return `${p.year}-${p.month}-${p.day}`;
}

/** @param {number} t */
function parts(t) {
  /** @type {Record<string, string>} */
  const out = {};
  const f = format({
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
    second: "2-digit",
  });
  for (const p of f.formatToParts(t)) out[p.type] = p.value;
  return out;
}

/**
 * zoneOffset is what the shop's clock is ahead of UTC at a moment, in ms.
 * @param {number} t
 */
export function zoneOffset(t) {
  const p = parts(t);
  const local = Date.UTC(+p.year, +p.month - 1, +p.day, +p.hour, +p.minute, +p.second);
  return local - Math.floor(t / 1000) * 1000;
}

/**
 * localText is a moment as an input field of the shop's time shows it.
 * @param {string | number} t
 */
export function localText(t) {
  const p = parts(ms(t));
  return `${p.year}-${p.month}-${p.day}T${p.hour}:${p.minute}:${p.second}`;
}

/**
 * fromLocal reads such a field; NaN for what is no time.
 * @param {string} text
 */
export function fromLocal(text) {
  const naive = Date.parse(text + "Z");
  if (Number.isNaN(naive)) return NaN;
  const guess = naive - zoneOffset(naive);
  return naive - zoneOffset(guess);
}

/**
 * moment is a time of day, with the day where that is not today.
 * @param {string | number | null | undefined} t
 */
export function moment(t) {
  if (!t) return say("none");
  t = ms(t);
  if (dayOf(t) === dayOf(now())) return format(hm).format(t);
  if (Math.abs(now() - t) < 6 * 86400e3) return plain(format({ weekday: "short", ...hm }).format(t));
  return format({ day: "numeric", month: "short", ...hm }).format(t);
}

/** @param {number} t */
export const clockText = (t) => format({ ...hm, second: "2-digit" }).format(t);
/** @param {number} t */
export const minuteText = (t) => format(hm).format(t);
/** @param {string | number | null | undefined} t */
export const full = (t) =>
  t
    ? format({ day: "numeric", month: "short", year: "numeric", ...hm, second: "2-digit" }).format(ms(t))
    : say("none");
/**
 * dayAndMinute is full without its seconds.
 * @param {string | number} t
 */
export const dayAndMinute = (t) =>
  format({ day: "numeric", month: "short", year: "numeric", ...hm }).format(ms(t));
/**
 * @param {number} t
 * @param {boolean} days
 */
export const tickText = (t, days) =>
  (days ? format({ day: "numeric", month: "short" }) : format(hm)).format(t);

/**
 * dateText is a date such as 2026-11-25 in words: Wed 25 Nov; what is no date
 * shows as it is.
 * @param {string | undefined} d
 */
export function dateText(d) {
  const t = Date.parse(d + "T12:00:00Z");
  if (!d || Number.isNaN(t)) return d || "";
  /** @type {Intl.DateTimeFormatOptions} */
  const year = d.slice(0, 4) === dayOf(now()).slice(0, 4) ? {} : { year: "numeric" };
  const words = new Intl.DateTimeFormat(locale, {
    timeZone: "UTC",
    weekday: "short",
    day: "numeric",
    month: "short",
    ...year,
  }).format(t);
  return plain(words);
}

/**
 * daysBetween counts the days from one date to another.
 * @param {string} a
 * @param {string} b
 */
export const daysBetween = (a, b) => Math.round((Date.parse(b) - Date.parse(a)) / 86400e3);

const MIN = 60;
const HOUR = 3600;
const DAY = 86400;
const LONG = 30 * DAY; // from here on hours tell nothing

/**
 * span is a length of time in its two largest units, rounded: "5 min 20 s",
 * "13 d 22 h"; from thirty days on in days. One rule for all pages.
 * @param {number} ms
 */
export function span(ms) {
  const s = Math.max(0, Number.isFinite(ms) ? ms : 0) / 1000;
  const to = (/** @type {number} */ unit) => Math.round(s / unit) * unit;
  if (to(1) < MIN) return say("span.s", to(1));
  if (to(1) < HOUR) return pair("min", to(1), MIN, "s", 1);
  if (to(MIN) < DAY) return pair("h", to(MIN), HOUR, "min", MIN);
  if (to(HOUR) < LONG) return pair("d", to(HOUR), DAY, "h", HOUR);
  return say("span.d", Math.round(s / DAY));
}

/** @type {(large: string, s: number, size: number, small: string, unit: number) => string} */
function pair(large, s, size, small, unit) {
  const first = say("span." + large, Math.floor(s / size));
  const rest = (s % size) / unit;
  return rest ? first + " " + say("span." + small, rest) : first;
}

/**
 * elapsed is the span of something that goes on: in whole minutes from ten minutes
 * on, so that it does not draw the eye.
 * @param {number} ms
 */
export const elapsed = (ms) => span(ms < 600e3 ? ms : Math.round(ms / 60e3) * 60e3);

/**
 * coarse is a span in its largest unit, for what is read from far.
 * @param {number} ms
 */
export function coarse(ms) {
  const s = Math.max(0, ms) / 1000;
  if (s >= DAY) return say("span.d", Math.round(s / DAY));
  return s >= HOUR ? say("span.h", Math.round(s / HOUR)) : say("span.min", Math.round(s / MIN));
}

/**
 * seconds is a span given in seconds; nothing for null.
 * @param {number | null | undefined} s
 */
export const seconds = (s) => (s === null || s === undefined ? "" : span(s * 1000));

/**
 * minutes is a span given in minutes, which may be parts of one.
 * @param {number} min
 */
export const minutes = (min) => span(min * 60000);
