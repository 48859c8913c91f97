// The cards of all open batches in one go, with how far they have come.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { failed } from "../../lib/shell.js";
import { number } from "../../lib/numbers.js";
import { say } from "../../lib/words.js";
import { counter } from "./counted.js";

/** @typedef {import("../../lib/_types.js").Input} Input */

/**
 * fetchBook gives the PDF; step is told how many of how many cards are done. It fails
 * with the server's sentence, and when the answer was cut off.
 * @param {string} paper
 * @param {(n: number, of: number) => void} step
 */
async function fetchBook(paper, step) {
  const answer = await fetch("/api/v1/cards.pdf?paper=" + paper);
  if (!answer.ok || !answer.body) throw new Error((await answer.json()).detail);
  const of = Number(answer.headers.get("Tallywalk-Cards")),
    seen = counter(),
    parts = [],
    reader = answer.body.getReader();
  step(0, of);
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    parts.push(value);
    step(seen.take(value), of);
  }
  if (!seen.whole()) throw new Error(say("book.cut"));
  return new Blob(parts, { type: "application/pdf" });
}

export function Book() {
  const paper = useSignal("A5"),
    step = useSignal(/** @type {number[] | null} */ (null)),
    made = useSignal("");
  const go = async () => {
    if (made.value) URL.revokeObjectURL(made.value);
    made.value = "";
    step.value = [0, 0];
    try {
      made.value = URL.createObjectURL(await fetchBook(paper.value, (n, of) => (step.value = [n, of])));
    } catch (err) {
      failed(err);
      step.value = null;
    }
  };
  const busy = step.value !== null && !made.value;
  return html`<section>
    <h2>${say("book.title")}</h2>
    <p class="soft">${say("book.what")}</p>
    <p class="deeds">
      <label>
        ${say("printers.release.size")}
        <select data-test="book-paper" onChange=${(/** @type {Input} */ e) => (paper.value = e.target.value)}>
          ${["A5", "A4", "A4x2"].map((s) => html`<option key=${s} value=${s}>${say("paper." + s)}</option>`)}
        </select>
      </label>
      <button data-test="book" disabled=${busy} onClick=${go}>${say("book.do")}</button>
    </p>
    ${step.value &&
    html`<p class="deeds" role="status" data-test="book-step" data-done=${made.value ? "true" : "false"}>
      <progress max=${step.value[1] || 1} value=${step.value[0]} aria-label=${say("book.title")}></progress>
      <span>${say("book.step", number(step.value[0]), number(step.value[1]))}</span>
      ${made.value &&
      html`<a class="button act" data-test="book-open" href=${made.value} download="cards.pdf">
        ${say("book.open")}
      </a>`}
    </p>`}
  </section>`;
}
