// The shop's rule of order, and what each rule would have come to.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { CsvButton } from "../../lib/csv.js";
import { number, percent } from "../../lib/numbers.js";
import { failed, may, note } from "../../lib/shell.js";
import { count, say } from "../../lib/words.js";
import { useFresh } from "./fresh.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Rules"]} RulesView
 * @typedef {Schema["RuleResult"]} RuleResult
 */

/** @param {{r: RuleResult | undefined, k: string, own: boolean, take: (rule: string) => void}} props */
function RuleRow({ r, k, own, take }) {
  const cell = (/** @type {string} */ key, /** @type {unknown} */ v) =>
    html`<td class="n" data-label=${say(key)}>${r ? v : say("none")}</td>`;
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

/** @type {(keyof RuleResult)[]} */
const ruleHead = ["rule", "late_share", "days_late", "lead_days", "setup_hours", "batches"];

/**
 * Rules compares them on the shop's last quarter, to choose from for who plans.
 * @param {{after: () => void}} props
 */
export function Rules({ after }) {
  const rules = useFresh("/api/v1/ahead/rules", 600000),
    kept = useSignal(/** @type {RulesView | null} */ (null)),
    v = kept.value || rules.value;
  if (!v) return null;
  const take = (/** @type {string} */ rule) =>
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
