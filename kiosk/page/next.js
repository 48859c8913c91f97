// What to run next, as the server advises it. It is advice and nothing more: a station
// that works alone has none, and goes on as well.
import { signal } from "../../web/lib/vendor/ui.js";
import { get } from "../../web/lib/api.js";
import { link } from "./outbox.js";

/**
 * Advice is what the server says of a machine's line, and when it was asked, in ms.
 * @typedef {import("../../web/lib/_types.js").Schema["Next"] & {got: number}} Advice
 */

const OFTEN_MS = 30000, // between two looks
  LASTS_MS = 180000, // older advice is not shown: the line has moved on
  PATIENCE_MS = 5000;

/** @type {import("../../web/lib/vendor/ui.js").Signal<Record<string, Advice>>} */
const advices = signal({});
/** @type {Map<string, number>} */
const asked = new Map();

/**
 * Asks what to run next at a machine, at most twice a minute; no answer is no advice.
 * @param {string} id
 * @param {number} now a clock that nobody sets, in ms
 */
export async function refreshNext(id, now = performance.now()) {
  if (now - (asked.get(id) ?? -Infinity) < OFTEN_MS) return;
  asked.set(id, now);
  try {
    const a = await get(`/api/v1/next?machine=${encodeURIComponent(id)}`, { patience: PATIENCE_MS });
    advices.value = { ...advices.value, [id]: { ...a, got: now } };
  } catch {
    // The link says so.
  }
}

/**
 * The advice for a machine that still holds; null where there is none.
 * @param {string} id
 * @param {number} now
 */
export function adviceAt(id, now = performance.now()) {
  const a = advices.value[id];
  return a && a.state === "ready" && !link.value.alone && now - a.got < LASTS_MS ? a : null;
}

/**
 * What waits, in the order of the advice; what that does not know stays where it was,
 * after all that it knows.
 * @template {{card: string, operation?: number}} W
 * @param {W[]} waiting
 * @param {Pick<Advice, "waiting"> | null} advice
 * @returns {W[]}
 */
export function inOrder(waiting, advice) {
  if (!advice) return waiting;
  const place = (/** @type {W} */ w) => said(w, advice)?.place ?? Infinity;
  return waiting
    .map((w, i) => ({ w, i, at: place(w) }))
    .sort((a, b) => (a.at === b.at ? a.i - b.i : a.at - b.at))
    .map((x) => x.w);
}

/**
 * What the advice has of one that waits.
 * @param {{card: string, operation?: number}} w
 * @param {Pick<Advice, "waiting"> | null} advice
 */
export const said = (w, advice) =>
  advice?.waiting.find((b) => b.card === w.card && b.operation === w.operation);
