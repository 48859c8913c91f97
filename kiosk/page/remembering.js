// What a device remembers lies in two places, and either may be behind: localStorage, which
// a browser that is killed may not have written down, and the box, whose writing a reload
// right after a tap cuts off. Both count how often something was remembered.

/** @typedef {import("./_types.js").Values["remembered"]} Kept */

/**
 * What is remembered, by name; the compiler wants each.
 * @type {Record<keyof import("./_types.js").Remembered, true>}
 */
export const NAMES = {
  camera: true,
  device: true,
  front: true,
  known: true,
  machine: true,
  machines: true,
  mm: true,
  operator: true,
  rhythm: true,
  runner: true,
  theme: true,
};

/**
 * What was remembered last: of the place that counted further, and of the other what that
 * one has no word of.
 * @param {Kept} box
 * @param {Kept} hand with null for what is forgotten
 * @returns {Kept}
 */
export const lastOf = (box, hand) =>
  (hand.count || 0) > (box.count || 0) ? { ...box, ...hand } : { ...hand, ...box };
