// When it happened: picked, not typed.
import { html, useState } from "../../web/lib/vendor/ui.js";
import { now as serverNow } from "../../web/lib/clock.js";
import { lapsed } from "./moments.js";
import { asked, boards, current, lapses, when } from "./state.js";
import { minutes, minuteText, moment } from "../../web/lib/times.js";
import { say } from "../../web/lib/words.js";

const AGO = [5, 15, 30, 60]; // minutes

/**
 * Picks a time; it is for what is said next, and lapses.
 * @type {(w: {ago?: number, at?: number, named?: string}) => void}
 */
const pick = (w) => void (when.value = { ...w, set: performance.now() });

/**
 * Picks a time by its name on an action sheet: now, minutes ago, break or end. It is
 * false where this machine has no such moment.
 * @param {string} name
 */
export function pickNamed(name) {
  if (name === "now") return ((when.value = null), true);
  if (/^\d+$/.test(name)) return (pick({ ago: Number(name) }), true);
  const at = (boards.value[current.value]?.earlier || []).find((e) => e.kind === name)?.at;
  return at ? (pick({ at: Date.parse(at), named: name }), true) : false;
}

/** Lets a time go that was picked too long ago. */
export function watchWhen() {
  if (!lapsed(when.value, performance.now(), !!asked.value)) return;
  when.value = null;
  lapses.value++;
}

/** The time that was picked, in words; '' for now. */
export function whenWord() {
  const w = when.value;
  if (!w) return "";
  return w.ago ? say("when.ago", minutes(w.ago)) : say("when.at", momentOf(w.at ?? 0));
}

/**
 * A button's word with the time that was picked, so that nobody says it unawares.
 * @param {string} word
 */
export const withWhen = (word) => (when.value ? say("when.word", word, whenWord()) : word);

/**
 * A moment of another day says which.
 * @type {(at: number) => string}
 */
export const momentOf = (at) => (serverNow() - at < 12 * 3600000 ? minuteText(at) : moment(at));

/**
 * What people remember by: the last break, the end of the last shift.
 * @param {{list: {kind: string, at: string}[]}} props
 */
function Earlier({ list }) {
  return list.map(({ kind, at }) => {
    const t = Date.parse(at);
    return html`<button
      key=${kind}
      class="key small"
      data-test=${"when-" + kind}
      data-at=${at}
      aria-pressed=${when.value?.named === kind}
      onClick=${() => pick({ at: t, named: kind })}>
      ${say("when." + kind, momentOf(t))}
    </button>`;
  });
}

export function When() {
  const [picking, setPicking] = useState(false);
  const w = when.value;
  if (picking) return html`<${Pick} done=${() => setPicking(false)} />`;
  /** @type {(on: boolean, word: string, test: string, set: () => void) => unknown} */
  const key = (on, word, test, set) =>
    html`<button key=${test} class="key small" data-test=${test} aria-pressed=${on} onClick=${set}>
      ${word}
    </button>`;
  return html`<div class="when" role="group" aria-label=${say("when.title")}>
    <h2>${say("when.title")}</h2>
    <div class="keys">
      ${key(!w, say("when.now"), "when-now", () => (when.value = null))}
      ${AGO.map((m) => key(w?.ago === m, say("when.ago", minutes(m)), "when-" + m, () => pick({ ago: m })))}
      <${Earlier} list=${boards.value[current.value]?.earlier || []} />
      ${key(
        !!w?.at && !w.named,
        w?.at && !w.named ? say("when.at", minuteText(w.at)) : say("when.pick"),
        "when-pick",
        () => setPicking(true),
      )}
    </div>
  </div>`;
}

/** @param {{done: () => void}} props */
function Pick({ done }) {
  const [at, setAt] = useState(Math.floor(serverNow() / 60000) * 60000);
  const move = (/** @type {number} */ min) => () => setAt(Math.min(serverNow(), at + min * 60000));
  return html`<div class="pick" data-test="when-picker">
    <output class="typed">${moment(at)}</output>
    <div class="keys">
      ${[-1440, -60, -10, -1, 1, 10, 60, 1440].map(
        (m) => html`<button key=${m} class="key" data-test=${"when" + m} onClick=${move(m)}>
          ${m < 0 ? "−" : "+"} ${minutes(Math.abs(m))}
        </button>`,
      )}
    </div>
    <button class="main" data-test="when-ok" onClick=${() => (pick({ at }), done())}>
      ${say("when.ok", minuteText(at))}
    </button>
  </div>`;
}
