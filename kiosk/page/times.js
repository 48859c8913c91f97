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

/** A duration in seconds. */
export function span(seconds) {
  const s = Math.max(0, Math.round(seconds));
  if (s < 60) return say('unit.s', s);
  const min = Math.floor(s / 60);
  if (min < 10 && s % 60) return say('unit.mins', min, s % 60);
  if (min < 60) return say('unit.min', min);
  const h = Math.floor(min / 60);
  if (h < 48 && min % 60 === 0) return say('unit.hours', h);
  if (h < 48) return say('unit.h', h, String(min % 60).padStart(2, '0'));
  return say('unit.d', Math.floor(h / 24), h % 24);
}

/** Planned minutes, which may be parts of one. */
export const minutes = (m) => span(m * 60);

/** A date that does not break at its hyphens. */
export const day = (date) => date.replaceAll('-', '\u2011');
