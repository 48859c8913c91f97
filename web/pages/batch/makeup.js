// A batch that falls short of what is wanted: how many, and the batch that makes up
// for them.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get, post, uuid7 } from "../../lib/api.js";
import { now } from "../../lib/clock.js";
import { Dialog } from "../../lib/form.js";
import { Short } from "../../lib/marks.js";
import { failed, may } from "../../lib/shell.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./asked.js").Batch} Batch
 * @typedef {Schema["MakeUp"]} Plan
 * @typedef {{wanted: string, pieces: string, due: string}} Draft
 */

/**
 * Why says what the start quantity rests on.
 * @param {{plan: Plan}} props
 */
function Why({ plan }) {
  if (plan.pieces === null) return html`<p class="soft">${say("makeup.none")}</p>`;
  const sure = Math.round(plan.confidence * 100);
  return html`<p class="soft" data-test="makeup-why">
    ${plan.batches > 0 ? count("makeup.why", plan.batches, sure) : say("makeup.why.planned", sure)}
  </p>`;
}

/**
 * bodyOf is the release of a make-up batch for b.
 * @param {Batch} b
 * @param {Plan} plan
 * @param {Draft} d
 * @param {string} id
 * @returns {Schema["Release"]}
 */
function bodyOf(b, plan, d, id) {
  return {
    id,
    part: b.part,
    route_rev: plan.route_rev,
    pieces: Number(d.pieces),
    wanted: Math.min(Number(d.wanted), Number(d.pieces)),
    due: d.due,
    works_order: b.works_order,
    customer: b.customer,
    order_line: b.order_line,
    priority: b.priority,
    hot: b.hot,
    makes_up: b.card,
  };
}

/** @param {{b: Batch, after: () => void, close: () => void, done: (made: Batch) => void}} props */
function MakeUpDialog({ b, after, close, done }) {
  const plan = useSignal(/** @type {Plan | null} */ (null)),
    draft = useSignal(/** @type {Draft} */ ({ wanted: "", pieces: "", due: b.due || "" })),
    id = useSignal(uuid7(now()));
  useEffect(() => {
    get(`/api/v1/batches/${encodeURIComponent(b.card)}/makeup`)
      .then((/** @type {Plan} */ p) => {
        plan.value = p;
        draft.value = { ...draft.value, wanted: String(p.short), pieces: String(p.pieces ?? "") };
      })
      .catch(failed);
  }, [b.card]);
  const go = async (/** @type {import("./asked.js").Bad} */ bad) => {
    if (!plan.value) return;
    try {
      done(await post("/api/v1/batches", bodyOf(b, plan.value, draft.value, id.value)));
      close();
      after();
    } catch (err) {
      bad(/** @type {Error} */ (err).message);
    }
  };
  /** @type {(name: keyof Draft, more: Record<string, unknown>) => unknown} */
  const field = (name, more) =>
    html`<label>
      ${say("makeup." + name)}
      <input
        data-test=${"makeup-" + name}
        value=${draft.value[name]}
        onInput=${(/** @type {Input} */ e) => {
          draft.value = { ...draft.value, [name]: e.target.value };
        }}
        ...${more}
      />
    </label>`;
  const whole = { type: "number", min: 1, max: 10000000, step: 1, required: true };
  return html`<${Dialog}
    title=${say("makeup.title", b.works_order || b.card)}
    act=${say("makeup.do")}
    go=${go}
    close=${close}>
    ${plan.value
      ? html`
          <div class="fields">
            ${field("wanted", whole)}
            ${field("pieces", whole)}
            ${field("due", { type: "date" })}
          </div>
          <${Why} plan=${plan.value} />
          <p class="soft">${say("makeup.what", b.works_order || b.card)}</p>
        `
      : html`<p class="soft">${say("loading")}</p>`}
  <//>`;
}

/**
 * ShortOf says how many pieces of a batch can't come any more, and offers the batch
 * that makes up for them.
 * @param {{b: Batch, after: () => void}} props
 */
export function ShortOf({ b, after }) {
  const open = useSignal(false),
    made = useSignal(/** @type {Batch | null} */ (null));
  if (!b.short && !made.value) return null;
  const short = b.short || 0;
  return html`<section class="short" data-test="short-of" data-short=${short}>
    ${short > 0 && html`<p><${Short} n=${short} /> ${count("short.says", short, b.wanted)}</p>`}
    ${made.value &&
    html`<p role="status" data-test="made-up" data-card=${made.value.card}>
      ${say("makeup.done")} <a href=${"/batch/" + made.value.card}>${made.value.card}</a>${" "}
      <a class="button" href=${`/api/v1/batches/${made.value.card}/card.pdf?paper=A5`}>
        ${say("card.print", "A5")}
      </a>
    </p>`}
    ${short > 0 &&
    may("release") &&
    html`<p class="deeds">
      <button
        class="act"
        data-test="makeup"
        onClick=${() => {
          open.value = true;
        }}>
        ${say("makeup.ask")}
      </button>
    </p>`}
    ${open.value &&
    html`<${MakeUpDialog}
      b=${b}
      after=${after}
      close=${() => {
        open.value = false;
      }}
      done=${(/** @type {Batch} */ batch) => {
        made.value = batch;
      }}
    />`}
  </section>`;
}
