// Hears the keyboard: what a scanner typed and what a person did, in the layout
// that was learnt for this device.
import { parseRef } from "./refs.js";
import { TEST_CARD } from "./consts.js";
import { learnRhythm, newReader } from "./reader.js";
import { remember, remembered } from "./state.js";

// The keyboard layout of a typing scanner, learnt once per device from the test
// card and never guessed: which character arrives for which one printed.

/** @typedef {import("./_types.js").Read} Read */

/** @typedef {{el: HTMLInputElement, value: string, start: number | null, end: number | null}} Field */

const SAVED = "tallywalk.scanner";
/** @type {Record<string, string>} */
let map = JSON.parse(localStorage.getItem(SAVED) || "{}");

/**
 * What was meant by the keys that arrived.
 * @param {string[]} tokens
 */
function meant(tokens) {
  return tokens.map((t) => map[t] ?? (t.length > 1 ? "" : t)).join("");
}

/**
 * Compares what a scanner typed with the test card, place by place. The answer
 * is the map of what differs, or null when it cannot be the card.
 * @param {string[]} tokens
 */
export function compare(tokens) {
  if (tokens.length !== TEST_CARD.length) return null;
  const found = new Map();
  for (let i = 0; i < tokens.length; i++) {
    const printed = TEST_CARD[i];
    const came = fold(tokens[i]);
    if (found.has(came) && found.get(came) !== printed) return null;
    found.set(came, printed);
  }
  // Each printed character must have come the same each time.
  if (new Set(found.values()).size !== found.size) return null;
  /** @type {Record<string, string>} */
  const out = {};
  for (const [came, printed] of found) {
    if (came === printed) continue;
    out[came] = printed;
    if (came.toLowerCase() !== came && came.length === 1) out[came.toLowerCase()] = printed;
  }
  return out;
}

/**
 * Letters come in either case: codes do not care, and a lock key may be on.
 * @type {(t: string) => string}
 */
const fold = (t) => (t.length === 1 && t.toUpperCase().length === 1 ? t.toUpperCase() : t);

/**
 * Remembers a map.
 * @param {Record<string, string>} m
 */
export function learn(m) {
  map = m;
  localStorage.setItem(SAVED, JSON.stringify(m));
}

// Hears the keyboard, wherever the focus is, and lets reader.js decide what a
// scanner typed and what a person did. What a scanner typed into a field is
// taken out of it again.

const BUSY_MS = 50; // a timer this late had keys to wait for, too

const reader = newReader(meant, remembered("rhythm"));
/** @type {On} */
let hears;
/** @type {Field | null} */
let field = null; // the field that had the focus, with what stood in it
let spaceTaken = false;
let timer = 0;

/**
 * On is who hears what came in.
 * @typedef {object} On
 * @property {(text: string, read: Read) => unknown} scan what a scanner read
 * @property {(key: string, event?: KeyboardEvent) => unknown} key a key by itself; true when used
 * @property {(keys: string[], end: string) => unknown} typed keys that someone typed
 * @property {() => unknown} broken a scan that did not come through whole
 * @property {() => string} wants what the view on top takes: press, digits or text
 */

/** @param {On} on */
export function listen(on) {
  hears = on;
  document.addEventListener("keydown", keydown, { capture: true });
  document.addEventListener("keyup", keyup, { capture: true });
}

/**
 * While the test card is awaited, any scanner is slow enough.
 * @param {boolean} yes
 */
export const learning = (yes) => reader.setLearning(yes);

/**
 * Keeps the rhythm of a scan; of the test card it counts for all.
 * @param {{gaps: number[], end: string}} read
 * @param {boolean} [card]
 */
export function keepRhythm(read, card = false) {
  const known = learnRhythm(remembered("rhythm"), read, card);
  reader.setRhythm(known);
  remember("rhythm", known);
}

export function forgetRhythm() {
  reader.setRhythm(null);
  remember("rhythm", null);
}

/** @type {(el: EventTarget | null) => boolean} */
const isField = (el) =>
  el instanceof HTMLElement && (["INPUT", "TEXTAREA"].includes(el.tagName) || el.isContentEditable);
const MODIFIERS = ["Shift", "AltGraph", "Control", "Alt", "CapsLock", "Dead"];

/** @param {KeyboardEvent} e */
function keydown(e) {
  if (e.isComposing && e.key !== "Dead") return;
  const token = tokenOf(e);
  // A key that is held down repeats as fast as a scanner types; it says nothing.
  if (e.repeat && (token || e.key === "Enter"))
    return isField(document.activeElement) && token ? undefined : stop(e);
  if (e.timeStamp >= reader.due()) act(reader.rest(e.timeStamp, wants()));
  if (token) return character(e, token);
  if (e.key === "Enter" || e.key === "Tab") {
    const read = reader.end(e.key, e.timeStamp, wants());
    if (read) return (stop(e), act(read));
  }
  if (e.key.length > 1 && !MODIFIERS.includes(e.key) && hears.key(e.key, e)) stop(e);
}

/**
 * A blank by itself is left to the browser, which presses the button in focus.
 * @param {KeyboardEvent} e
 * @param {string} token
 */
function character(e, token) {
  if (token === " " && !reader.busy()) return;
  if (!reader.busy()) field = fieldInFocus();
  reader.key(token, e.timeStamp);
  spaceTaken = token === " ";
  // Outside a field nothing else may act on the key.
  if (!field) stop(e);
  wait();
}

/** @param {KeyboardEvent} e */
function keyup(e) {
  if (e.key !== " " || !spaceTaken) return;
  spaceTaken = false;
  if (!field) e.preventDefault();
}

function fieldInFocus() {
  const el = document.activeElement;
  return isField(el) && el instanceof HTMLInputElement
    ? { el, value: el.value, start: el.selectionStart, end: el.selectionEnd }
    : null;
}

const wants = () => (field && reader.busy() ? "field" : hears.wants());

/**
 * Looks again when the keys are due. On a busy machine the timer may come before
 * keys that were pressed in time: then it waits a little for them.
 * @param {boolean} [late]
 */
function wait(late = false) {
  clearTimeout(timer);
  const left = reader.due() - performance.now();
  timer = setTimeout(
    () => {
      const now = performance.now();
      if (now < reader.due()) return wait();
      if (now > reader.due() + BUSY_MS && !late) return wait(true);
      act(reader.rest(now, wants()));
    },
    Math.max(0, left, late ? BUSY_MS : 0),
  );
}

/** @param {KeyboardEvent} e */
function stop(e) {
  e.preventDefault();
  e.stopPropagation();
}

/**
 * A dead key has no character of its own; its place on the keyboard stands for it.
 * @param {KeyboardEvent} e
 */
function tokenOf(e) {
  if (e.key === "Dead") return "dead " + e.code + (e.shiftKey ? "+" : "");
  if (e.key.length !== 1) return "";
  if ((e.ctrlKey || e.altKey || e.metaKey) && !e.getModifierState("AltGraph")) return "";
  return e.key;
}

/**
 * Does what was decided about keys.
 * @param {(Read & {kind: string}) | null} read
 */
function act(read) {
  if (!read) return;
  clearTimeout(timer);
  const into = field;
  field = null;
  const text = meant(read.tokens);
  if (read.kind === "scan") {
    if (into) restore(into);
    if (parseRef(text).code) keepRhythm(read);
    hears.scan(text, read);
  }
  if (read.kind === "typed" && !into)
    hears.typed(
      read.tokens.filter((t) => t.length === 1),
      read.end,
    );
  if (read.kind === "press") hears.key(read.tokens[0]);
  if (read.kind === "broken") hears.broken();
}

/** @param {Field} into */
function restore(into) {
  into.el.value = into.value;
  into.el.setSelectionRange?.(into.start, into.end);
  into.el.dispatchEvent(new Event("input", { bubbles: true }));
}
