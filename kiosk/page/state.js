// What the page knows, as signals: views read them, flow.js changes them.
import { computed, signal } from "../../web/lib/vendor/ui.js";
import { setValue, value } from "./box.js";
import { practising } from "./practising.js";
import { lastOf, NAMES } from "./remembering.js";

/** loading, enrol, choose or work. */
export const screen = signal("loading");
/** What lies over the screen: '', camera, menu, type, size, learn, answers, plate. */
export const over = signal("");

/** Someone cut this device off: it was a station, and the server knows it no more. */
export const cutOff = signal(false);

/**
 * @typedef {import("./_types.js").View} View
 * @typedef {import("./_types.js").Board} Board
 */

export const me = signal(/** @type {import("../../web/lib/_types.js").Me | null} */ (null));
/** @typedef {import("../../web/lib/_types.js").Schema["Shop"]} Shop */

export const shop = signal(/** @type {Pick<Shop, "machines" | "reasons">} */ ({ machines: [], reasons: [] }));

/** The machines this station is for, and the one in front. */
export const mine = signal(/** @type {string[]} */ ([]));
export const current = signal("");
/** The machine whose plate was read, until it is said whether to add it or to change to it. */
export const plated = signal(/** @type {import("./_types.js").Machine | null} */ (null));
/** What is at each machine: {here, waiting}. */
export const boards = signal(/** @type {Record<string, Board>} */ ({}));

/** The batch that is open: the program's view of it, with what was scanned. */
export const open = signal(/** @type {View | null} */ (null));
/** The step that still asks for something. */
export const asked = signal(/** @type {import("./_types.js").Step | null} */ (null));
/** What a refusal or a question says. */
export const answer = signal(/** @type {import("./_types.js").Answer | null} */ (null));
/** When it happened: null for now, {ago: minutes} or {at: ms}, with set: when it was picked. */
export const when = signal(/** @type {import("./_types.js").When | null} */ (null));
/** How often a picked time lapsed: what the big button means has changed then. */
export const lapses = signal(0);
export const note = signal("");
/** The latest own scan that can be taken back. */
export const own = signal(/** @type {import("./_types.js").Entry | null} */ (null));
/** Who is at the station: {person, name, until}. */
export const operator = signal(/** @type {import("./_types.js").Operator | null} */ (null));

export const machine = computed(() => shop.value.machines.find((m) => m.machine === current.value));

/** @param {string} kind */
export const reasonsOf = (kind) => shop.value.reasons.filter((r) => r.kind === kind);

/**
 * The reason that a code of an action sheet named, if it is of these kinds.
 * @param {string} key as keys have it: why:scrap:burr
 * @param {string[]} [kinds]
 * @returns {{kind: string, reason: string, text: string} | null}
 */
export function reasonRead(key, kinds = []) {
  const [what, kind, reason] = key.split(":");
  if (what !== "why" || !kinds.includes(kind)) return null;
  return reasonsOf(kind).find((r) => r.reason === reason) || null;
}

/**
 * The same to choose from, always with a way out.
 * @param {string} kind
 * @param {string} otherWord
 */
export function choicesOf(kind, otherWord) {
  const list = reasonsOf(kind);
  return list.some((r) => r.reason === "other") ? list : [...list, { reason: "other", text: otherWord }];
}

/** @typedef {import("./_types.js").Remembered} Remembered */

/**
 * What the device remembers.
 * @type {<K extends keyof Remembered>(key: K) => Remembered[K] | null}
 */
export const remembered = (key) =>
  forPractice.has(key)
    ? forPractice.get(key)
    : JSON.parse(localStorage.getItem("tallywalk." + key) || "null");

/** What practice changed of it: the device never hears of that. */
const forPractice = new Map();
if (practising) for (const key of ["front", "operator"]) forPractice.set(key, null);

/**
 * Remembers something: at hand at once in localStorage, which browsers write down
 * when they find time, and in the box, which outlasts a browser that is killed.
 * @template {keyof Remembered} K
 * @param {K} key
 * @param {Remembered[K] | null} v
 */
export function remember(key, v) {
  if (practising) return void forPractice.set(key, v);
  putAtHand("count", counted() + 1);
  putAtHand(key, v);
  if (!recalled) return;
  recalled[key] = v;
  recalled.count = counted();
  // A browser that keeps nothing asks again after the next reload.
  setValue("remembered", recalled).catch(() => {});
}

/** @type {import("./_types.js").Values["remembered"] | null} */
let recalled = null;

/** How often this device has remembered something. */
const counted = () => Number(localStorage.getItem("tallywalk.count")) || 0;

/** @type {(key: string, v: unknown) => void} */
function putAtHand(key, v) {
  try {
    if (v === null) localStorage.removeItem("tallywalk." + key);
    else localStorage.setItem("tallywalk." + key, JSON.stringify(v));
  } catch {
    // No room: the box has it.
  }
}

/** Brings back what was remembered last, once the box is open. */
export async function recallAll() {
  if (practising) return;
  const box = (await value("remembered")) || {};
  /** @type {import("./_types.js").Values["remembered"]} */
  const hand = { count: counted() };
  for (const key of Object.keys(NAMES)) {
    const name = /** @type {keyof Remembered} */ (key);
    hand[name] = remembered(name);
  }
  recalled = lastOf(box, hand);
  for (const [key, v] of Object.entries(recalled)) putAtHand(key, v);
  if ((recalled.count || 0) > (box.count || 0)) setValue("remembered", recalled).catch(() => {});
}
