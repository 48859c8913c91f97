// Refusals and questions in words with numbers, and answers that came late.
import { html } from "../../web/lib/vendor/ui.js";
import { Shape } from "./edge.js";
import { anyway } from "./flow.js";
import { useKeys } from "./keys.js";
import { later, readAnswer } from "./outbox.js";
import { saidOf } from "./said.js";
import { answer, asked, choicesOf, over } from "./state.js";
import { minuteText } from "../../web/lib/times.js";
import { say } from "../../web/lib/words.js";

/** What was refused or asked, until someone has read it. */
export function Answer() {
  const t = answer.value;
  const reasons = choicesOf("anyway", say("pad.other"));
  const away = () => (answer.value = null);
  useKeys(
    (k) => {
      if (asked.value || over.value) return false;
      if (k === "key.ok" || k === "key.back") return (away(), true);
      const i = "123456789".indexOf(k);
      if (t?.anyway && k.length === 1 && i >= 0 && reasons[i]) return (anyway(t, reasons[i].reason), true);
      return false;
    },
    () => (asked.value || over.value ? "" : "press"),
  );
  if (!t) return null;
  return html`<div class=${"told " + t.kind} data-test="told" data-kind=${t.kind} role="alert">
    <${Shape} kind=${t.kind} />
    <div>
      <h2>${t.title}</h2>
      <p data-test="told-text">${t.text}</p>
      ${t.card &&
      html`<p>
        <a
          class="key"
          data-test="told-card"
          target="_blank"
          href=${"/api/v1/batches/" + t.card + "/card.pdf"}>
          ${say("told.card", t.card)}
        </a>
      </p>`}
      ${t.anyway &&
      html`
        <p><b>${say("say.anyway")}</b> ${say("pad.why.anyway")}</p>
        <div class="keys">
          ${reasons.map(
            (r, i) => html`<button
              key=${r.reason}
              class="key step"
              data-test=${"anyway-" + r.reason}
              data-sense=${t.anyway?.id}
              onClick=${() => anyway(t, r.reason)}>
              <kbd>${i + 1}</kbd>
              ${r.text || r.reason}
            </button>`,
          )}
        </div>
      `}
      <button class="key" data-test="told-ok" data-sense=${t.text} onClick=${away}>${say("say.ok")}</button>
    </div>
  </div>`;
}

/** Answers to scans that had waited. */
export function AnswersView() {
  const read = (/** @type {import("./_types.js").Entry} */ e) => {
    if (later.value.length === 1) over.value = "";
    readAnswer(e);
  };
  return html`<section class="panel" data-test="answers">
    <h2>${say("answers.title")}</h2>
    ${later.value.length === 0 && html`<p>${say("answers.none")}</p>`}
    ${later.value.map(
      (e) => html`<div key=${e.id} class=${"told " + (e.state === "refused" ? "refuse" : "ask")}>
        <${Shape} kind=${e.state === "refused" ? "refuse" : "ask"} />
        <div>
          <h3>
            ${say(e.state === "refused" ? "say.refused" : "say.question")}: ${saidOf(e.scan)}${" "}
            <span class="code">${e.scan.card}</span>
          </h3>
          <p>${e.say}</p>
          <p class="soft">${say("say.later", minuteText(e.told))}</p>
          <button class="key" data-test="answer-ok" onClick=${() => read(e)}>${say("say.ok")}</button>
        </div>
      </div>`,
    )}
    <button class="key" data-test="back" onClick=${() => (over.value = "")}>${say("pad.back")}</button>
  </section>`;
}
