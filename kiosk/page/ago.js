// An earlier time that was picked: what it comes to, and when it lapses. No DOM
// here and no clock: times are arguments, in milliseconds.

// A picked time is for what is said next: it does not lie in wait for the next one.
export const LAPSE_MS = 60000;
// Counting takes longer.
export const LAPSE_PAD_MS = 3 * 60000;

/** Whether what was picked is too long ago to be meant still. */
export const lapsed = (when, now, padOpen) => !!when && now - when.set >= (padOpen ? LAPSE_PAD_MS : LAPSE_MS);

/** The fields of a scan that say when it happened; none for now. */
export function happened(when, now) {
  if (!when) return {};
  return { happened: new Date(Math.round(when.at ?? now - when.ago * 60000)).toISOString() };
}
