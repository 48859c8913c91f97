// Trace: from a lot, an order, a customer or a card to the batches, their families, and
// where their pieces went.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { now } from "../../lib/clock.js";
import { choose, chosen } from "../../lib/filters.js";
import { Answered, Find, useAnswer } from "../../lib/form.js";
import { me, start } from "../../lib/shell.js";
import { full } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { familiesOf, Family } from "./families.js";
import { Deliveries, Sums, TraceCsv } from "./tables.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Trace"]} Trace
 */

// From material to deliveries and back: every batch of the families that a lot, a
// works order, a customer, a card or a delivery note touches.

const fewFamilies = 12; // of which the operations are shown without being asked for

function Search() {
  const text = useSignal(chosen.value.q || "");
  const go = (/** @type {Event} */ e) => {
    e.preventDefault();
    choose({ q: text.value.trim(), operations: "" });
  };
  return html`<form class="tools" onSubmit=${go}>
    <${Find} label=${say("trace.find")} test="trace-q" text=${text} autofocus />
    <button class="act" data-test="trace-go">${say("trace.go")}</button>
  </form>`;
}

/** @param {{a: Trace}} props */
function Found({ a }) {
  const families = familiesOf(a.batches),
    { operations } = chosen.value,
    shown = operations ? operations === "1" : families.length <= fewFamilies;
  if (a.found === 0) return html`<p class="empty" data-test="trace-none">${say("trace.none", a.q)}</p>`;
  return html`
    <p class="summary" data-test="trace-found">
      ${say("trace.title-of", a.q)}: ${count("batches.n", a.found)},${" "}
      ${count("trace.families", families.length)}
    </p>
    ${a.found > a.batches.length &&
    html`<p class="notice" data-test="trace-newest">${say("trace.newest", a.found, a.batches.length)}</p>`}
    <p class="soft only-print">${say("trace.printed", full(now()))}</p>
    ${families.length > fewFamilies && html`<p><a class="button" href="#way">${say("trace.way")}</a></p>`}
    <${Sums} families=${families} q=${a.q} />
    <${Deliveries} list=${a.batches} />
    <section data-test="families">
      <div class="top">
        <h2 id="way">${say("trace.way")}</h2>
        <span class="deeds">
          <button
            class="quiet"
            data-test="trace-operations"
            aria-pressed=${shown}
            onClick=${() => choose({ operations: shown ? "0" : "1" })}>
            ${say(shown ? "trace.hide" : "trace.show")}
          </button>
          <button class="quiet" data-test="trace-print" onClick=${() => print()}>
            ${say("trace.print")}
          </button>
        </span>
      </div>
      ${families.map((f) => html`<${Family} key=${f.root} f=${f} q=${a.q} operations=${shown} />`)}
    </section>
    <${TraceCsv} list=${a.batches} />
  `;
}

function Page() {
  const { q = "" } = chosen.value,
    answer = useAnswer(q ? `/api/v1/trace?q=${encodeURIComponent(q)}` : null),
    a = answer.value;
  return html`
    <h1>${say("trace.title")}</h1>
    <${Search} key=${q} />
    ${q
      ? html`<${Answered} answer=${answer} />${a && a.q === q && html`<${Found} a=${a} />`}`
      : html`<p class="empty" data-test="trace-empty">${say("trace.empty")}</p>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
