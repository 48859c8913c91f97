// Questions that are alike, answered once for all of them.
import { html, signal, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { Dialog } from "../../lib/form.js";
import { Mark } from "../../lib/marks.js";
import { may, note } from "../../lib/shell.js";
import { desk, sendAll } from "../../lib/shop.js";
import { count, known, say } from "../../lib/words.js";
import { Answers, answerOf, Asked, wordOf } from "./asked.js";
import { followText } from "./follow.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./alike.js").Question} Question
 * @typedef {import("./asked.js").Bad} Bad
 */

/** How many answers go in one request. */
export const AT_ONCE = 200;

/** What stays open of answers that were given together, and why. */
export const stayed = signal(/** @type {{done: number, open: {q: Question, why: string}[]} | null} */ (null));

/**
 * answerAll gives the same answer to questions, in one request; those that it is not taken
 * for stay open, and say why.
 * @param {Question[]} list
 * @param {string} choice
 * @param {() => void} after
 * @param {Bad} bad
 */
async function answerAll(list, choice, after, bad) {
  const scans = list.map((q) => answerOf(q, choice));
  /** @type {Schema["Result"][]} */
  let results;
  try {
    results = (await post("/api/v1/scans?now=none", { scans })).results;
  } catch (err) {
    bad(/** @type {Error} */ (err).message);
    return false;
  }
  const open = list.flatMap((q, i) =>
    results[i].outcome === "kept" ? [] : [{ q, why: results[i].say || results[i].outcome }],
  );
  const kept = scans.filter((_, i) => results[i].outcome === "kept");
  stayed.value = open.length ? { done: kept.length, open } : null;
  const back = () =>
    sendAll(
      kept.map((s) => desk("undo", s.card, { for: s.id })),
      { done: say("taken-back"), undoable: false, after },
    );
  if (kept.length)
    note("good", count("bulk.done", kept.length, say(wordOf(list[0], choice))), {
      label: say("take-back"),
      run: back,
    });
  after();
  return true;
}

/** Stayed lists what stays open of answers that were given together. */
export function Stayed() {
  const s = stayed.value;
  if (!s) return null;
  return html`<section class="problem" role="alert" data-test="stayed">
    <p>${say("bulk.stayed", s.done, s.open.length)}</p>
    <ul>
      ${s.open.map(
        ({ q, why }) =>
          html`<li key=${q.question}>
            <a href=${"/batch/" + q.card}>${q.works_order || q.card}</a> ${why}
          </li>`,
      )}
    </ul>
    <button
      onClick=${() => {
        stayed.value = null;
      }}>
      ${say("close")}
    </button>
  </section>`;
}

/**
 * BulkDialog shows what the answer is given to; what is not meant is left out of it.
 * @param {{list: Question[], choice: string, after: () => void, close: () => void}} props
 */
function BulkDialog({ list, choice, after, close }) {
  const without = useSignal(/** @type {Record<string, boolean>} */ ({}));
  const meant = list.filter((q) => !without.value[q.question]);
  const go = async (/** @type {Bad} */ bad) => {
    if (meant.length === 0) return bad(say("bulk.nothing"));
    if (await answerAll(meant, choice, after, bad)) close();
  };
  return html`<${Dialog}
    title=${count("bulk.title", meant.length, say(wordOf(list[0], choice)))}
    act=${count("bulk.do", meant.length)}
    go=${go}
    close=${close}>
    <p>${say(wordOf(list[0], choice) + ".why")}</p>
    <p data-test="bulk-follows"><b>${meant.length > 0 && followText(meant, choice)}</b></p>
    ${list.map(
      (q) =>
        html`<label key=${q.question} class="tick" data-test="bulk-one">
          <input
            type="checkbox"
            checked=${!without.value[q.question]}
            onChange=${(/** @type {Input} */ e) => {
              without.value = { ...without.value, [q.question]: !e.target.checked };
            }}
          />
          <span><b>${q.works_order || q.card}</b> ${q.machine} <small>${q.known}</small></span>
        </label>`,
    )}
  <//>`;
}

/**
 * causeText says what questions that are alike are about.
 * @param {Question} q
 */
export const causeText = (q) => known("cause." + q.cause, say("kind." + q.kind));

/**
 * Alike is a group: a question by itself, or several that are answered together.
 * @param {{list: Question[], after: () => void}} props
 */
export function Alike({ list, after }) {
  const choice = useSignal("");
  if (list.length === 1) return html`<${Asked} q=${list[0]} after=${after} link />`;
  const now = list.slice(0, AT_ONCE),
    q = list[0];
  return html`<article class="asked" data-test="alike" data-kind=${q.kind} data-count=${list.length}>
    <p class="asked-head">
      <${Mark} kind="ask">${say("kind." + q.kind)}<//> <b>${count("bulk.alike", list.length)}</b>${" "}
      ${causeText(q)}${" "}
      <span class="soft">${[...new Set(list.map((x) => x.machine).filter(Boolean))].join(", ")}</span>
    </p>
    ${may("settle") &&
    html`
      <p class="soft">${count("bulk.all", now.length)}</p>
      <${Answers}
        list=${now}
        choose=${(/** @type {string} */ c) => {
          choice.value = c;
        }}
      />
    `}
    <details data-test="one-by-one">
      <summary>${say("bulk.each")}</summary>
      ${list.map((x) => html`<${Asked} key=${x.question} q=${x} after=${after} link />`)}
    </details>
    ${choice.value &&
    html`<${BulkDialog}
      list=${now}
      choice=${choice.value}
      after=${after}
      close=${() => {
        choice.value = "";
      }}
    />`}
  </article>`;
}
