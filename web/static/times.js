// Times, spans and dates as the shop says them: always with the unit, in the
// shop's own zone.
import {locale, say} from "/static/words.js";
import {now} from "/static/clock.js";

let zone; // undefined = the browser's own

export function setZone(name) {
  try {
    new Intl.DateTimeFormat(locale, {timeZone: name});
    zone = name === "Local" ? undefined : name;
  } catch { zone = undefined; }
}

const formats = new Map();
function format(options) {
  const key = JSON.stringify([zone, options]);
  if (!formats.has(key)) formats.set(key, new Intl.DateTimeFormat(locale, {timeZone: zone, hourCycle: "h23", ...options}));
  return formats.get(key);
}

const hm = {hour: "2-digit", minute: "2-digit"};
const ms = (t) => (typeof t === "number" ? t : Date.parse(t));

// dayOf is the shop's date of a moment, as 2026-11-25.
export function dayOf(t) {
  const p = parts(ms(t));
  return `${p.year}-${p.month}-${p.day}`;
}

function parts(t) {
  const out = {};
  const f = format({year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit"});
  for (const p of f.formatToParts(t)) out[p.type] = p.value;
  return out;
}

// zoneOffset is what the shop's clock is ahead of UTC at a moment, in ms.
export function zoneOffset(t) {
  const p = parts(t);
  const local = Date.UTC(+p.year, +p.month - 1, +p.day, +p.hour, +p.minute, +p.second);
  return local - Math.floor(t / 1000) * 1000;
}

// localText is a moment as an input field of the shop's time shows it.
export function localText(t) {
  const p = parts(ms(t));
  return `${p.year}-${p.month}-${p.day}T${p.hour}:${p.minute}:${p.second}`;
}

// fromLocal reads such a field; NaN for what is no time.
export function fromLocal(text) {
  const naive = Date.parse(text + "Z");
  if (Number.isNaN(naive)) return NaN;
  const guess = naive - zoneOffset(naive);
  return naive - zoneOffset(guess);
}

// moment is a time of day, with the day where that is not today.
export function moment(t) {
  if (!t) return say("none");
  t = ms(t);
  if (dayOf(t) === dayOf(now())) return format(hm).format(t);
  if (Math.abs(now() - t) < 6 * 86400e3) return format({weekday: "short", ...hm}).format(t);
  return format({day: "numeric", month: "short", ...hm}).format(t);
}

export const clockText = (t) => format({...hm, second: "2-digit"}).format(t);
export const minuteText = (t) => format(hm).format(t);
export const full = (t) => (t ? format({day: "numeric", month: "short", year: "numeric", ...hm, second: "2-digit"}).format(ms(t)) : say("none"));
export const tickText = (t, days) => (days ? format({day: "numeric", month: "short"}) : format(hm)).format(t);

// dateText is a date such as 2026-11-25 in words.
export function dateText(d) {
  if (!d) return "";
  const t = Date.parse(d + "T12:00:00Z");
  const year = d.slice(0, 4) === dayOf(now()).slice(0, 4) ? {} : {year: "numeric"};
  return new Intl.DateTimeFormat(locale, {timeZone: "UTC", weekday: "short", day: "numeric", month: "short", ...year}).format(t);
}

// daysBetween counts the days from one date to another.
export const daysBetween = (a, b) => Math.round((Date.parse(b) - Date.parse(a)) / 86400e3);

// span is a length of time in ms: seconds, minutes, hours, then days.
export function span(d) {
  const s = Math.max(0, Math.floor(d / 1000)), m = Math.floor(s / 60), h = Math.floor(m / 60);
  if (m < 1) return say("span.s", s);
  if (h < 1) return say("span.m", m);
  if (h < 48) return say("span.hm", h, String(m % 60).padStart(2, "0"));
  return say("span.dh", Math.floor(h / 24), h % 24);
}

// shortSpan says the same with one unit, or two close ones.
export function shortSpan(d) {
  const m = Math.floor(Math.max(0, d) / 60000), h = Math.floor(m / 60);
  if (h < 1) return say("span.m", m);
  if (h < 10) return say("span.hm", h, String(m % 60).padStart(2, "0"));
  if (h < 48) return say("span.h", h);
  if (h >= 240) return say("span.d", Math.floor(h / 24));
  return say("span.dh", Math.floor(h / 24), h % 24);
}

// seconds is a span given in seconds; nothing for null.
export const seconds = (s) => (s === null || s === undefined ? "" : span(s * 1000));

// perPiece is minutes for one piece.
export function perPiece(min) {
  if (min < 1) return say("span.s", Math.round(min * 60));
  const s = Math.round(min * 60);
  return say("span.ms", Math.floor(s / 60), String(s % 60).padStart(2, "0"));
}
