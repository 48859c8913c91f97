// Keys that someone types, and the digit and key codes of an action sheet, go
// to the topmost view that wants them.
import { useLayoutEffect, useRef } from "../../web/lib/vendor/ui.js";
import { mayKey } from "./press.js";

/** @typedef {(key: string, alone: boolean) => unknown} Take */

/** @type {{take: Take, wants: string | (() => string)}[]} */
const takers = [];

/**
 * Hears keys while a view is shown. take gets digits, letters, Backspace, and
 * the names of sheet keys (key.next, key.all, key.ok, key.back), and whether the
 * key came alone; it returns true for what it used. wants says what the view
 * takes: press (each key stands for a button), digits or text; a function that
 * gives '' while another view is to say it.
 * @param {Take} take
 */
export function useKeys(take, /** @type {string | (() => string)} */ wants = "") {
  const own = useRef({ take, wants }).current;
  own.take = take;
  own.wants = wants;
  useLayoutEffect(() => {
    takers.push(own);
    return () => void takers.splice(takers.lastIndexOf(own), 1);
  }, []);
}

/** What the topmost view takes. */
export function wanted() {
  for (let i = takers.length - 1; i >= 0; i--) {
    const w = takers[i].wants;
    const now = typeof w === "function" ? w() : w;
    if (now) return now;
  }
  return "press";
}

/**
 * @param {string} name
 * @param {boolean} alone
 */
function offer(name, alone) {
  for (let i = takers.length - 1; i >= 0; i--) if (takers[i].take(name, alone)) return true;
  return false;
}

/**
 * Offers a key to the views, the newest first. One that acts waits as a finger has to.
 * @param {string} name
 */
export function keyRead(name) {
  const fills = wanted() !== "press" && !name.startsWith("key.");
  if (!fills && !mayKey()) return true;
  return offer(name, true);
}

/**
 * Keys that someone typed one after the other, each after the page has drawn the one before.
 * @param {string[]} keys
 * @param {string} end
 */
export async function typedRead(keys, end) {
  const alone = keys.length === 1;
  for (const k of keys) {
    offer(k, alone);
    await new Promise((drawn) => setTimeout(drawn));
  }
  if (end && wanted() === "text") keyRead("key.ok");
}

/** @type {Record<string, string>} */
const SHEET = { Enter: "key.ok", Escape: "key.back" };
/**
 * A key of the keyboard. Enter on a button presses that button.
 * @param {string} key
 */
export function keyTyped(key) {
  const el = document.activeElement;
  const onButton = el && el !== document.body && el.matches("button, a, summary");
  if (key === "Enter" && onButton) return false;
  if (key.startsWith("Arrow")) return walk(key);
  if (key.length > 1 && !["Enter", "Escape", "Backspace"].includes(key)) return false;
  if (el && el.matches("input, textarea"))
    return key === "Escape" || key === "Enter" ? keyRead(SHEET[key]) : false;
  return keyRead(SHEET[key] || key);
}

/** @type {Record<string, [number, number]>} */
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * Arrows move the focus to the nearest button in their direction.
 * @param {string} key
 */
function walk(key) {
  const el = document.activeElement;
  if (el && el.matches("input, textarea")) return false;
  const from = (
    el && el !== document.body ? el : document.querySelector("main") || document.body
  ).getBoundingClientRect();
  const [dx, dy] = WAYS[key] ?? [0, 0];
  let best = null;
  let nearest = Infinity;
  for (const b of document.querySelectorAll("button:not(:disabled), a[href]")) {
    const r = b.getBoundingClientRect();
    if (b === el || !r.width) continue;
    const x = r.left + r.width / 2 - from.left - from.width / 2;
    const y = r.top + r.height / 2 - from.top - from.height / 2;
    const ahead = x * dx + y * dy;
    const aside = Math.abs(x * dy) + Math.abs(y * dx);
    const far = ahead + 3 * aside;
    if (ahead > 4 && far < nearest) [best, nearest] = [b, far];
  }
  if (!best) return false;
  /** @type {HTMLElement} */ (best).focus();
  return true;
}
