// Times and durations as the shop says them, always with the unit.

import { say } from './words.js';

let zone;

/** The shop's time zone by name. */
export function setZone(name) {
  zone = name && name !== 'Local' ? name : undefined;
}

/** Hours and minutes of a moment in the shop's zone. */
export function clockTime(ms) {
  return new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit', timeZone: zone }).format(ms);
}

/** Day, hours and minutes of a moment in the shop's zone. */
export function dayTime(ms) {
  const day = new Intl.DateTimeFormat('en-GB', { weekday: 'short', day: 'numeric', month: 'short', timeZone: zone }).format(ms);
  return `${day} ${clockTime(ms)}`;
}

/** A duration in seconds, rounded to its two largest units; from ten minutes on, seconds say nothing. */
export function span(seconds) {
  const s = Math.max(0, Math.round(seconds));
  if (s < 60) return say('unit.s', s);
  if (s < 600) return s % 60 ? say('unit.mins', Math.floor(s / 60), s % 60) : say('unit.min', s / 60);
  const min = Math.round(s / 60);
  if (min < 60) return say('unit.min', min);
  if (min < 24 * 60) return pair('unit.h', 'unit.hours', min, 60);
  return pair('unit.d', 'unit.days', Math.round(s / 3600), 24);
}

// A number of smaller units as two, or as one where nothing is left of the second.
function pair(both, one, n, size) {
  return n % size ? say(both, Math.floor(n / size), n % size) : say(one, n / size);
}

/** Planned minutes, which may be parts of one. */
export const minutes = (m) => span(m * 60);

/** A date such as 2026-12-03, as the shop says it: Thu 3 Dec. It does not break. */
export function day(date) {
  const at = Date.parse(date + 'T00:00:00Z');
  if (Number.isNaN(at)) return date;
  const parts = new Intl.DateTimeFormat('en-GB', { weekday: 'short', day: 'numeric', month: 'short', timeZone: 'UTC' }).format(at);
  return parts.replace(',', '').replaceAll(' ', '\u00a0');
}
