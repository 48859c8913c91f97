// Pads on the glass: digits, letters, a note.
import { html, useState } from "../../web/lib/vendor/ui.js";
import { openCard } from "./front.js";
import { useKeys } from "./keys.js";
import { me, note, over } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("./_types.js").Step} Step */

const MOST = 7; // digits

/**
 * The value after a key; null when the key is none of the pad's.
 * @param {string} value
 * @param {string} k
 * @param {number} all
 * @returns {string | null}
 */
export function afterKey(value, k, all) {
  if (/^\d$/.test(k)) return value.length < MOST ? String(Number(value + k)) : value;
  if (k === "Backspace") return value.slice(0, -1);
  if (k === "key.all") return all > 0 ? String(all) : value;
  return null;
}

/** @param {{value: string, set: (v: string) => void, all: number}} p */
export function NumPad({ value, set, all }) {
  const press = (/** @type {string} */ k) => () => set(afterKey(value, k, all) ?? value);
  return html`<div class="numpad">
    ${[..."789456123"].map(
      (d) => html`<button key=${d} class="key" data-test=${"digit-" + d} onClick=${press(d)}>${d}</button>`,
    )}
    <button class="key word" data-test="digit-delete" onClick=${press("Backspace")}>
      ${say("pad.delete")}
    </button>
    <button class="key" data-test="digit-0" onClick=${press("0")}>0</button>
    <button class="key word" data-test="digit-all" disabled=${!(all > 0)} onClick=${press("key.all")}>
      ${say("pad.all", all > 0 ? all : "")}
    </button>
  </div>`;
}

// A note, by the keyboard of the device, for those who want to write one.

/** @param {{step: Step, asks?: boolean}} props */
export function NoteField({ step, asks }) {
  const must = step.reason === "concession";
  const [shown, show] = useState(must);
  if (!shown)
    return html`<button class="key small" data-test="note-add" onClick=${() => show(true)}>
      ${say("pad.note.add")}
    </button>`;
  return html`<label class=${"note" + (must && asks && !note.value ? " over" : "")}>
    ${say(must ? "pad.note.reference" : "pad.note")}
    <input
      data-test="note"
      maxlength="500"
      value=${note.value}
      onInput=${(/** @type {import("../../web/lib/_types.js").Input} */ e) => (note.value = e.target.value)}
    />
  </label>`;
}

// Letters and digits on the glass, for a code or a works order number.

const ROWS = ["1234567890", "ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ-/._"];

/**
 * A pad of keys; ok is called with nothing.
 * @param {{value: string, set: (v: string) => void, ok: (code?: string) => void, word: string, most?: number,
 *   back?: () => void}} props
 */
export function LetterPad({ value, set, ok, word, most = 60, back }) {
  const put = (/** @type {string} */ ch) => value.length < most && set(value + ch);
  useKeys((k) => {
    if (k === "key.ok") ok();
    else if (k === "Backspace") set(value.slice(0, -1));
    else if (k === "key.back" && back) back();
    // A whole code comes here before the device is a station; else it is one of a sheet.
    else if (k.length > 1 && !k.startsWith("key.") && !me.value) (set(k), ok(k));
    else if (k.length === 1) put(k.toUpperCase() === k.toLowerCase() ? k : k.toUpperCase());
    else return false;
    return true;
  }, "text");
  return html`<div class="letters">
    <output class="typed" data-test="typed">${value || " "}</output>
    <div class="letter-rows">
      ${ROWS.map(
        (row) =>
          html`<div class="letter-row" key=${row}>
            ${[...row].map(
              (ch) =>
                html`<button key=${ch} class="key" data-test=${"key-" + ch} onClick=${() => put(ch)}>
                  ${ch}
                </button>`,
            )}
          </div>`,
      )}
    </div>
    <div class="row">
      <button class="key" data-test="key-space" onClick=${() => put(" ")}>${say("pad.space")}</button>
      <button class="key" data-test="key-delete" onClick=${() => set(value.slice(0, -1))}>
        ${say("pad.delete")}
      </button>
      ${back && html`<button class="key" data-test="back" onClick=${back}>${say("pad.back")}</button>`}
      <button class="main" data-test="typed-ok" disabled=${!value.trim()} onClick=${() => ok()}>
        ${word}
      </button>
    </div>
  </div>`;
}

let first = "";

/**
 * Opens the pad with the character that someone typed.
 * @param {string} ch
 */
export function startTyping(ch) {
  first = ch.toUpperCase();
  over.value = "type";
}

/** Types a code or a works order. */
export function TypeView() {
  const [value, set] = useState(first);
  first = "";
  const ok = () => {
    const typed = value.trim();
    if (!typed) return;
    over.value = "";
    openCard(typed);
  };
  return html`<section class="panel" data-test="type">
    <h2>${say("pad.type.title")}</h2>
    <${LetterPad}
      value=${value}
      set=${set}
      ok=${ok}
      word=${say("pad.find")}
      back=${() => (over.value = "")}
    />
  </section>`;
}
