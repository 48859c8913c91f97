// Practice: the station as it is, with a batch that nobody made, and a round for a new
// hand. It ends by itself, since a tablet that is forgotten in practice records nothing.
import { computed, html, signal } from "../../web/lib/vendor/ui.js";
import { elapsed } from "../../web/lib/times.js";
import { say } from "../../web/lib/words.js";
import { allScans } from "./box.js";
import { accept } from "./edge.js";
import { openCard, refreshOpen } from "./front.js";
import { link, sayScan } from "./outbox.js";
import { practiceMachine, PRACTICE_CARD, toPractice } from "./practising.js";
import { roundOf } from "./round.js";
import { open } from "./state.js";

const REST_MS = 10 * 60000; // since someone last touched the page
const MOST_MS = 45 * 60000;

const opened = signal(false);
const tasks = computed(() => {
  void link.value;
  void open.value;
  return roundOf(allScans(), opened.value);
});

/** Notes what is done, and ends practice when nobody goes on with it. */
export function watchPractice() {
  const began = performance.now();
  let touched = began;
  for (const type of ["pointerdown", "keydown"])
    document.addEventListener(type, () => (touched = performance.now()), { capture: true, passive: true });
  setInterval(() => {
    const now = performance.now();
    if (now - touched > REST_MS || now - began > MOST_MS) end();
  }, 1000);
  open.subscribe((v) => v && (opened.value = true));
  document.title = say("practice.title") + " · " + document.title;
}

const end = () => toPractice("");

/** Stands above everything: what this is, what is next, and the way out. */
export function PracticeBar() {
  const next = tasks.value.findIndex((t) => !t.done);
  return html`<div class="practice-bar" data-test="practice" role="status">
    <b>${say("practice.title")}</b>
    <span>${say("practice.nothing")}</span>
    ${next >= 0 &&
    html`<span class="next">${next + 1}. ${say("practice.do." + tasks.value[next].task)}</span>`}
    ${tasks.value[next]?.task === "pass" && html`<${Pass} />`}
    <button class="key small" data-test="practice-end" onClick=${end}>${say("practice.end")}</button>
  </div>`;
}

/** The card, and the round. */
export function PracticeView() {
  const left = tasks.value.filter((t) => !t.done);
  return html`<section class="here" data-test="practice-round">
    <div class="practice-card">
      <${Code} />
      <div>
        <b>${say("practice.scan")}</b>
        <p>${say("practice.pieces")}</p>
        <button class="key" data-test="practice-open" onClick=${() => openCard(PRACTICE_CARD)}>
          ${say("practice.open")}
        </button>
      </div>
    </div>
    <h2>${left.length ? say("practice.round") : say("practice.done", took())}</h2>
    <ol class="round">
      ${tasks.value.map(
        ({ task, done }) => html`<li
          key=${task}
          class=${done ? "done" : task === left[0]?.task ? "front" : ""}
          data-test=${"round-" + task}
          data-done=${done}>
          <svg class="shape" viewBox="0 0 24 24" aria-hidden="true">
            <rect class="stroke" x="3" y="3" width="18" height="18" />
            ${done && html`<path class="stroke" d="M7 12l4 5 7-10" />`}
          </svg>
          <span>${say("practice.do." + task)} ${done && html`<small>${say("practice.did")}</small>`}</span>
        </li>`,
      )}
    </ol>
    <button class="key" data-test="practice-again" onClick=${() => toPractice(practiceMachine)}>
      ${say("practice.again")}
    </button>
    <button class="key" data-test="practice-end-too" onClick=${end}>${say("practice.end")}</button>
  </section>`;
}

// In practice nobody waits for the inspector.
function Pass() {
  const pass = async () => {
    accept(say("did.firstoff.passed"));
    const aim = { station: practiceMachine, card: PRACTICE_CARD, operation: 10 };
    await sayScan({ ...aim, action: "firstoff", good: 1 });
    refreshOpen();
  };
  return html`<button class="key small" data-test="practice-pass" onClick=${pass}>
    ${say("practice.pass")}
  </button>`;
}

/** How long it took from the first scan to the last. */
const took = () => elapsed((allScans().at(-1)?.told || 0) - (allScans()[0]?.told || 0));

// The QR of the practice card (ISO/IEC 18004, version 1), the modules of
// each row as a number; a scanner reads it from the glass.
const ROWS = [
  "1vjjv 10ha1 1emqt 1ekit 1elat 10ni1 1vlbv 700 1fhjs 179v0 1atbd",
  "11dv0 1dl9c 695 1vgl1 10l10 1enkm 1env8 1ekag 10jud 1vk94",
];

function Code() {
  const rows = ROWS.join(" ")
    .split(" ")
    .map((r) => parseInt(r, 32));
  const d = rows.flatMap((row, y) =>
    rows.flatMap((_, x) => (row & (1 << (rows.length - 1 - x)) ? `M${x + 4} ${y + 4}h1v1h-1z` : [])),
  );
  return html`<svg class="practice-code" viewBox="0 0 29 29" role="img" aria-label=${say("practice.scan")}>
    <path fill="#fff" d="M0 0h29v29h-29z" />
    <path fill="#000" d=${d.join("")} />
  </svg>`;
}
