// One question with its choices, and the dialog that corrects a scan.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { Dialog } from "../../lib/form.js";
import { At, Mark } from "../../lib/marks.js";
import { may } from "../../lib/shell.js";
import { desk, scanText, send, shop } from "../../lib/shop.js";
import { fromLocal, localText } from "../../lib/times.js";
import { known, say } from "../../lib/words.js";
import { followText } from "./follow.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./alike.js").Question} Question
 * @typedef {Schema["Batch"]} Batch
 * @typedef {Schema["Line"]} Line
 * @typedef {(text: string) => void} Bad
 * Lost is pieces that did not come out good, as they are typed.
 * @typedef {Omit<Schema["Loss"], "n"> & {n: number | string}} Lost
 * Draft is a scan as it is typed.
 * @typedef {{card: string, station: string, operation: number | string, good: number | string,
 *   missing: number | string, scrap: Lost[], rework: Lost[], review: Lost[], pieces: number | string,
 *   reason: string, at: string, counts: boolean}} Draft
 */

// One question: what was said, what the floor knows, and the choices.

/**
 * What was done anyway is taken back; what does not fit is not counted.
 * @type {(q: Question, choice: string) => string}
 */
export const wordOf = (q, choice) =>
  q.kind === "anyway" && choice === "drop" ? "choice.back" : "choice." + choice;

/** @param {{q: Question, after: () => void}} props */
function Choices({ q, after }) {
  if (!may("settle")) return html`<p class="soft">${say("ask.who")}</p>`;
  const choose = (/** @type {string} */ choice) =>
    send(answerOf(q, choice), { done: say("settled.as", say(wordOf(q, choice))), after });
  return html`<${Answers} list=${[q]} choose=${choose} />`;
}

/**
 * answerOf is the scan that answers a question.
 * @param {Question} q
 * @param {string} choice
 */
export const answerOf = (q, choice) =>
  desk("decide", q.card, {
    for: q.question,
    reason: choice,
    ...(choice === "hold" && { note: say("choice.hold.reason") }),
  });

/**
 * Answers are the choices for questions that are alike, each with what follows from it.
 * @param {{list: Question[], choose: (choice: string) => void}} props
 */
export const Answers = ({ list, choose }) =>
  html`<p class="deeds answers">
    ${list[0].choices.map((c) => {
      const follows = followText(list, c);
      return html`<button key=${c} data-test="choice" data-choice=${c} onClick=${() => choose(c)}>
        <b>${say(wordOf(list[0], c))}</b>
        <small>${say(wordOf(list[0], c) + ".why")}</small>
        ${follows && html`<small class="follows" data-test="follows">${follows}</small>`}
      </button>`;
    })}
  </p>`;

/** @param {{q: Question, after: () => void, link?: boolean}} props */
export function Asked({ q, after, link }) {
  const head = html`
    ${link
      ? html`
          <a class="batch" href=${"/batch/" + q.card} data-test="batch-link">
            <b>${q.works_order || q.card}</b>
          </a>${" "}
          ${q.part}
        `
      : ""}${" "}
    ${q.operation ? say("operation.of", q.operation) : ""}
  `;
  return html`<article
    class=${q.settled ? "asked settled" : "asked"}
    data-test=${q.settled ? "settled" : "question"}
    data-question=${q.question}
    data-kind=${q.kind}>
    <p class="asked-head">
      ${q.settled
        ? html`<span class="hint">${say("settled")}</span>`
        : html`<${Mark} kind="ask">${say("kind." + q.kind)}<//>`}${" "}
      ${head} <small><${At} t=${q.at} /></small>
    </p>
    ${q.said &&
    html`<p>
      <span class="soft">${say("ask.said")}</span>${" "}
      ${[q.who, q.machine && say("at.machine", q.machine)].filter(Boolean).join(" ")}: ${scanText(q.said)}
    </p>`}
    <p><span class="soft">${say("ask.known")}</span> ${q.known}</p>
    ${q.settled
      ? html`<p>
          <span class="soft">${say("ask.settled")}</span> ${say("choice." + q.settled.choice)} –${" "}
          ${q.settled.by}, <${At} t=${q.settled.at} />
        </p>`
      : html`<${Choices} q=${q} after=${after} />`}
  </article>`;
}

// Fields for pieces that did not come out good: how many, and why.

/** @param {{kind: string, list: Lost[], set: (list: Lost[]) => void}} props */
function LossFields({ kind, list, set }) {
  const reasons = (shop.value ? shop.value.reasons : []).filter((r) => r.kind === kind);
  /** @type {(i: number, k: keyof Lost, v: string) => void} */
  const change = (i, k, v) => set(list.map((l, j) => (j === i ? { ...l, [k]: v } : l)));
  const add = () => set([...list, { reason: reasons.length ? reasons[0].reason : "", n: 1 }]);
  return html`<fieldset data-test=${"losses-" + kind}>
    <legend>${say("figure." + kind)}</legend>
    ${list.map(
      (l, i) => html`<p key=${i} class="loss">
        <label>
          ${say("head.pieces")}
          <input
            type="number"
            min="1"
            max="10000000"
            step="1"
            required
            data-test=${`correct-${kind}-n`}
            value=${l.n}
            onInput=${(/** @type {Input} */ e) => change(i, "n", e.target.value)}
          />
        </label>
        <label>
          ${say("correct.reason")}
          <select
            data-test=${`correct-${kind}-reason`}
            onChange=${(/** @type {Input} */ e) => change(i, "reason", e.target.value)}>
            ${reasons.map(
              (r) =>
                html`<option key=${r.reason} value=${r.reason} selected=${r.reason === l.reason}>
                  ${r.text}
                </option>`,
            )}
            ${!reasons.some((r) => r.reason === l.reason) &&
            html`<option value=${l.reason} selected>${l.reason || say("none")}</option>`}
          </select>
        </label>
        <button type="button" class="quiet" onClick=${() => set(list.filter((_, j) => j !== i))}>
          ${say("remove")}
        </button>
      </p>`,
    )}
    <button type="button" class="quiet" data-test=${"add-" + kind} onClick=${add}>
      ${say("add." + kind)}
    </button>
  </fieldset>`;
}

// The dialog that corrects a scan: which card, machine and operation it was
// for, how many pieces, when it happened. The scan itself stays in the record.

const losses = /** @type {const} */ (["scrap", "rework", "review"]);

/**
 * draftOf is what the form begins with: the scan as it was said, and whether it
 * was about pieces.
 * @param {Line} line
 * @param {Batch} [b]
 * @returns {Draft}
 */
function draftOf(line, b) {
  const s = line.scan,
    visit = b && b.visits.find((v) => v.visit === line.visit);
  return {
    card: b ? b.card : s.card,
    station: line.machine || s.station,
    operation: s.operation || (visit ? visit.operation : ""),
    good: s.good ?? "",
    missing: s.missing ?? "",
    scrap: s.scrap || [],
    rework: s.rework || [],
    review: s.review || [],
    pieces: s.pieces || "",
    reason: s.reason || "",
    at: localText(line.at),
    counts:
      s.action === "count" ||
      s.action === "finish" ||
      s.good !== undefined ||
      losses.some((k) => (s[k] || []).length > 0),
  };
}

/**
 * correction is the scan that says what the form says; what was not touched
 * stays as it was.
 * @param {Line} line
 * @param {Draft} was
 * @param {Draft} d
 */
function correction(line, was, d) {
  /** @type {Partial<Schema["Scan"]>} */
  const fields = { for: line.scan.id, station: d.station };
  if (Number(d.operation) > 0) fields.operation = Number(d.operation);
  if (d.counts && (d.good !== "" || d.missing !== "" || losses.some((k) => d[k].length))) {
    fields.good = Number(d.good) || 0;
    if (Number(d.missing) > 0) fields.missing = Number(d.missing);
    for (const k of losses) if (d[k].length) fields[k] = d[k].map((l) => ({ ...l, n: Number(l.n) }));
  }
  if (Number(d.pieces) > 0) fields.pieces = Number(d.pieces);
  if (d.reason) fields.reason = d.reason;
  if (d.at !== was.at) fields.happened = new Date(fromLocal(d.at)).toISOString();
  const moved =
    d.card !== was.card || d.station !== was.station || String(d.operation) !== String(was.operation);
  if (line.visit && line.visit !== line.scan.id && !moved) fields.visit = line.visit;
  return desk("correct", d.card.trim(), fields);
}

/** @param {{line: Line, b?: Batch, after: () => void, close: () => void}} props */
export function CorrectDialog({ line, b, after, close }) {
  const was = draftOf(line, b),
    draft = useSignal(was);
  const d = draft.value,
    set = (/** @type {keyof Draft} */ k) => (/** @type {Input} */ e) => {
      draft.value = { ...draft.value, [k]: e.target.value };
    };
  const go = async (/** @type {Bad} */ bad) => {
    if (await send(correction(line, was, draft.value), { done: say("corrected.done"), after, bad })) close();
  };
  /** @type {(k: "operation" | "good" | "missing" | "pieces", label: string) => unknown} */
  const number = (k, label) =>
    html`<label>
      ${label}
      <input
        type="number"
        min="0"
        max="10000000"
        step="1"
        data-test=${"correct-" + k}
        value=${d[k]}
        onInput=${set(k)}
      />
    </label>`;
  const split = ["split", "send", "receive", "deliver"].includes(line.scan.action);
  return html`<${Dialog}
    title=${say("correct.title", known("action." + line.scan.action, line.scan.action))}
    act=${say("correct.do")}
    go=${go}
    close=${close}>
    <p class="soft">${say("correct.said")} ${scanText(line.scan)}</p>
    <div class="fields">
      <label>
        ${say("fact.card")}
        <input required maxlength="120" data-test="correct-card" value=${d.card} onInput=${set("card")} />
      </label>
      <label>
        ${say("head.machine")}
        <select data-test="correct-station" onChange=${set("station")}>
          ${(shop.value ? shop.value.machines : []).map(
            (m) =>
              html`<option key=${m.machine} value=${m.machine} selected=${m.machine === d.station}>
                ${m.machine} ${m.name}
              </option>`,
          )}
          ${!(shop.value && shop.value.machines.some((m) => m.machine === d.station)) &&
          html`<option value=${d.station} selected>${d.station}</option>`}
        </select>
      </label>
      ${number("operation", say("head.operation"))}
      <label>
        ${say("correct.at")}
        <input
          type="datetime-local"
          step="1"
          required
          data-test="correct-at"
          value=${d.at}
          onInput=${set("at")}
        />
      </label>
    </div>
    ${d.counts &&
    html`
      <div class="fields">
        ${number("good", say("figure.good"))}
        ${number("missing", say("figure.missing"))}
      </div>
      ${losses.map(
        (k) =>
          html`<${LossFields}
            key=${k}
            kind=${k}
            list=${d[k]}
            set=${(/** @type {Lost[]} */ list) => {
              draft.value = { ...draft.value, [k]: list };
            }}
          />`,
      )}
    `}
    ${split && html`<div class="fields">${number("pieces", say("head.pieces"))}</div>`}
    ${line.scan.action === "stop" &&
    html`<label>
      ${say("correct.reason")}
      <select data-test="correct-reason" onChange=${set("reason")}>
        <option value="">${say("none")}</option>
        ${(shop.value ? shop.value.reasons : [])
          .filter((r) => r.kind === "stop" || r.kind === "wait")
          .map(
            (r) =>
              html`<option key=${r.kind + r.reason} value=${r.reason} selected=${r.reason === d.reason}>
                ${r.text}
              </option>`,
          )}
      </select>
    </label>`}
  <//>`;
}
