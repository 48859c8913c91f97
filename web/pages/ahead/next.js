// What to run next at a machine, as advice, for the supervisor; and the shop's rule of
// order, with what each rule would have come to.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { Answered } from "../../lib/form.js";
import { BatchLink, Gone, Hint, Mark } from "../../lib/marks.js";
import { number, percent } from "../../lib/numbers.js";
import { failed, may, me, note, start } from "../../lib/shell.js";
import { loadShop, shop, theShop } from "../../lib/shop.js";
import { dateText, moment, span } from "../../lib/times.js";
import { count, say, stateWord } from "../../lib/words.js";
import { useFresh } from "./fresh.js";
import { Day } from "./parts.js";

const LOOK_MS = 15000;

const tried = (m) => !["stores", "dock", "outside"].includes(m.kind || "");

function MachineChoice({ id }) {
  return html`<div class="tools">
    <label>
      ${say("head.machine")}
      <select data-test="machine" onChange=${(e) => choose({ machine: e.target.value })}>
        ${theShop()
          .machines.filter(tried)
          .map(
            (m) =>
              html`<option key=${m.machine} value=${m.machine} selected=${m.machine === id}>
                ${m.machine} ${m.name}
              </option>`,
          )}
      </select>
    </label>
  </div>`;
}

function Row({ b }) {
  const cell = (key, v, test) => html`<td data-label=${say(key)} data-test=${test}>${v}</td>`,
    bad = b.late === "now" || b.late === "likely";
  return html`<tr data-test="next-row" data-card=${b.card} data-place=${b.place}>
    ${cell("next.place", html`<b>${b.place}</b>`)}${cell("head.batch", html`<${BatchLink} row=${b} />`)}
    ${cell(
      "head.part",
      html`
        <span class="unbroken">${b.part}</span>
        <small>${say("operation.of", b.operation)}, ${count("pieces", b.pieces)}</small>
      `,
    )}
    ${cell(
      "head.due",
      html`
        ${b.due ? dateText(b.due) : say("due.none")} ${bad && lateMark(b)}
        ${b.late === "risk" && html`<${Hint}>${say("ahead.late.risk")}<//>`}
        ${b.state !== "waiting" && html` <${Hint}>${stateWord(b.state)}<//>`}
      `,
    )}
    ${cell("next.waited", html`<${Gone} since=${b.since} />`)}${cell("next.setup", span(b.setup_s * 1000))}${" "}
    ${cell("next.run", span(b.run_s * 1000))}${cell("ahead.p50", html`<${Day} t=${b.p50} />`)}
    <td class="advice" data-label=${say("next.taken-first")} data-test="row-says">${b.say}</td>
  </tr>`;
}

const lateMark = (b) => html`<${Mark} kind="late">${say("ahead.late." + b.late)}<//>`;

const csvHead = [
  "place",
  "card",
  "works_order",
  "part",
  "operation",
  "pieces",
  "due",
  "priority",
  "state",
  "since",
  "setup_s",
  "run_s",
  "saves_s",
  "p50",
  "p85",
  "on_time",
  "say",
];

const heads = [
  "next.place",
  "head.batch",
  "head.part",
  "head.due",
  "next.waited",
  "next.setup",
  "next.run",
  "ahead.p50",
];

function Line({ v }) {
  return html`<section data-test="line" data-machine=${v.machine}>
    <p class="summary" data-test="advice">${v.say}</p>
    <p class="soft">
      ${v.free_at.p50 && say("next.free", v.machine, moment(v.free_at.p50), moment(v.free_at.p85))}${" "}
      ${v.on && say("next.on", v.on.part, v.on.operation)}
    </p>
    ${v.waiting.length > 0 &&
    html`
      <table class="stack next">
        <thead>
          <tr>
            ${heads.map((k) => html`<th key=${k} scope="col">${say(k)}</th>`)}
            <th scope="col">${say("next.taken-first")}</th>
          </tr>
        </thead>
        <tbody>
          ${v.waiting.map((b) => html`<${Row} key=${`${b.card}/${b.operation}/${b.state}`} b=${b} />`)}
        </tbody>
      </table>
      <p class="deeds">
        <${CsvButton}
          name=${"next-" + v.machine}
          head=${csvHead}
          rows=${() => v.waiting.map((b) => csvHead.map((k) => b[k]))}
        />
      </p>
    `}
    <p class="soft">${say("next.how")}</p>
  </section>`;
}

function RuleRow({ r, k, own, take }) {
  const cell = (key, v) => html`<td class="n" data-label=${say(key)}>${r ? v : say("none")}</td>`;
  return html`<tr data-test="rule" data-rule=${k} class=${own ? "chosen" : ""}>
    <th scope="row">${say("ahead.rule." + k)} <small>${say("next.rule.why." + k)}</small></th>
    ${cell("next.rule.late", r && percent(r.late_share))}
    ${cell("next.rule.days", r && say("span.d", number(r.days_late)))}
    ${cell("next.rule.lead", r && say("span.d", number(r.lead_days)))}
    ${cell("next.rule.setup", r && say("hours", number(r.setup_hours)))}
    <td>
      ${own
        ? html`<b data-test="own-rule">${say("next.rule.own")}</b>`
        : may("plan") &&
          html`<button data-test=${"take-" + k} onClick=${() => take(k)}>${say("next.rule.take")}</button>`}
    </td>
  </tr>`;
}

const ruleHead = ["rule", "late_share", "days_late", "lead_days", "setup_hours", "batches"];

function Rules({ after }) {
  const rules = useFresh("/api/v1/ahead/rules", 600000),
    kept = useSignal(/** @type {any} */ (null)),
    v = kept.value || rules.value;
  if (!v) return null;
  const take = (rule) =>
    post("/api/v1/ahead/rules", { rule })
      .then((a) => {
        kept.value = a;
        note("good", say("what-if.done.rule", say("ahead.rule." + rule)));
        after();
      })
      .catch(failed);
  return html`<section data-test="rules" data-own=${v.rule}>
    <h2>${say("next.rules")}</h2>
    <p class="soft">
      ${v.results.length > 0 ? count("next.rules.how", v.results[0].batches) : say("next.rules.none")}
    </p>
    <table class="stack rules">
      <thead>
        <tr>
          <th scope="col">${say("what-if.rule")}</th>
          ${["late", "days", "lead", "setup"].map(
            (k) => html`<th key=${k} scope="col" class="n">${say("next.rule." + k)}</th>`,
          )}
          <td></td>
        </tr>
      </thead>
      <tbody>
        ${v.rules.map(
          (k) =>
            html`<${RuleRow}
              key=${k}
              k=${k}
              r=${v.results.find((x) => x.rule === k)}
              own=${k === v.rule}
              take=${take}
            />`,
        )}
      </tbody>
    </table>
    ${v.results.length > 0 &&
    html`<p class="deeds">
      <${CsvButton}
        name="rules"
        head=${ruleHead}
        rows=${() => v.results.map((r) => ruleHead.map((k) => r[k]))}
      />
    </p>`}
  </section>`;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const id = chosen.value.machine || shop.value?.machines.find(tried)?.machine || "",
    answer = useFresh(id && "/api/v1/next?machine=" + encodeURIComponent(id), LOOK_MS),
    v = answer.value;
  return html`
    <h1>${say("next.title")}</h1>
    ${shop.value &&
    (id
      ? html`<${MachineChoice} id=${id} />`
      : html`<p class="empty" data-test="no-machines">${say("next.no-machines")}</p>`)}
    ${id && html`<${Answered} answer=${answer} />`} ${v && v.machine === id && html`<${Line} v=${v} />`}
    <${Rules} after=${answer.again} />
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
