// Combining operations: which of them a machine could do in one set-up, which of
// those its second spindle does while the first cuts, and how long that takes.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { theShop } from "../../lib/shop.js";
import { say } from "../../lib/words.js";
import { entry, typed } from "../../lib/numbers.js";
import { threeNames } from "./state.js";
import { NumberField, Pick } from "./text.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {Schema["CombineAsk"]} CombineAsk
 * @typedef {Schema["ThreeValues"]} ThreeValues
 * Proposal is a route some of whose operations are combined.
 * @typedef {import("./state.js").RouteAsk & {combine: CombineAsk}} Proposal
 * @typedef {(some: Partial<CombineAsk>) => void} Set
 */

/**
 * @param {string} part
 * @param {string} rev
 */
const planOf = (part, rev) => theShop().parts.find((p) => p.part === part && p.route_rev === rev);

// centres are the work centres whose machines work on pieces, with their rates.
export function centres() {
  const out = new Map();
  for (const m of theShop().machines) if (!m.kind) out.set(m.work_centre, m.name || m.machine);
  return [...out.entries()].sort();
}

/**
 * @param {{
 *   label: string, name: string, value: ThreeValues | undefined, set: (value?: ThreeValues) => void,
 *   hint: string, percent?: boolean
 * }} props
 */
function Three({ label, name, value, set, hint, percent }) {
  const k = percent ? 100 : 1,
    v = /** @type {Partial<ThreeValues>} */ (value || {}),
    show = (/** @type {number | undefined} */ x) =>
      x === undefined ? "" : entry(Number((k * x).toPrecision(6)));
  const one = (/** @type {keyof ThreeValues} */ n) => (/** @type {Input} */ e) => {
    const t = e.target.value;
    if (t === "") return set(undefined);
    if (!(typed(t) >= 0)) {
      e.target.value = show(v[n]);
      return;
    }
    const x = typed(t) / k,
      next = { low: x, likely: x, high: x, ...v, [n]: x };
    if (n === "likely") {
      next.low = Math.min(next.low, next.likely);
      next.high = Math.max(next.high, next.likely);
    }
    if (n === "low") {
      next.likely = Math.max(next.likely, next.low);
      next.high = Math.max(next.high, next.likely);
    }
    if (n === "high") {
      next.likely = Math.min(next.likely, next.high);
      next.low = Math.min(next.low, next.likely);
    }
    return set(next);
  };
  return html`<fieldset class="three">
    <legend>${label}</legend>
    ${threeNames.map(
      (n) =>
        html`<label key=${n}>
          ${say("compare." + n)}
          <input
            type="text"
            inputmode="decimal"
            data-test=${`combine-${name}-${n}`}
            value=${show(v[n])}
            onChange=${one(n)}
          />
        </label>`,
    )}
    <small>${hint}</small>
  </fieldset>`;
}

/** @param {{o: Schema["Operation"], c: CombineAsk, set: Set}} props */
function Operation({ o, c, set }) {
  const inside = c.operations.includes(o.operation),
    second = (c.second || []).includes(o.operation);
  const flip = (/** @type {number[]} */ list, /** @type {boolean} */ on) =>
    on ? list.filter((x) => x !== o.operation) : [...list, o.operation].sort((a, b) => a - b);
  return html`<tr>
    <th scope="row"><b>${o.operation}</b> ${o.work_centre}<small>${o.instruction || ""}</small></th>
    <td>
      <label class="check">
        <input
          type="checkbox"
          checked=${inside}
          data-test=${`in-${o.operation}`}
          onChange=${() =>
            set({
              operations: flip(c.operations, inside),
              second: inside ? flip(c.second || [], true) : c.second,
            })}
        />
        ${say("combine.in")}
      </label>
    </td>
    <td>
      ${inside &&
      html`<label class="check">
        <input
          type="checkbox"
          checked=${second}
          data-test=${`second-${o.operation}`}
          onChange=${() => set({ second: flip(c.second || [], second) })}
        />
        ${say("combine.second")}
      </label>`}
    </td>
  </tr>`;
}

/**
 * CombineFields asks for a combination of a route; ask is what the server will
 * be asked, set gets changes of its combination.
 * @param {{
 *   part: string, ask: Proposal, set: Set, setRev?: (rev: string) => void, revs?: string[],
 *   name?: (name: string) => void
 * }} props
 */
export function CombineFields({ part, ask, set, setRev, revs, name }) {
  const plan = planOf(part, ask.route_rev),
    c = ask.combine;
  if (!plan) return null;
  const inside = plan.operations.filter((o) => !o.outside_days);
  return html`<div class="combine-fields">
    ${revs &&
    html`<div class="fields">
      <label>
        ${say("combine.name")}
        <input
          maxlength="60"
          value=${ask.name}
          data-test="combine-name"
          onInput=${(/** @type {Input} */ e) => name?.(e.target.value)}
        />
      </label>
      <${Pick}
        label=${say("combine.from")}
        test="combine-from"
        value=${ask.route_rev}
        options=${revs.map((r) => [r, say("compare.route", r)])}
        set=${setRev}
      />
    </div>`}
    <table class="combine-table stack">
      <tbody>${inside.map((o) => html`<${Operation} key=${o.operation} o=${o} c=${c} set=${set} />`)}</tbody>
    </table>
    <div class="fields">
      <${Pick}
        label=${say("combine.centre")}
        test="combine-centre"
        value=${c.work_centre}
        options=${[["", say("combine.choose")], ...centres().map(([w, n]) => [w, `${w} – ${n}`])]}
        set=${(/** @type {string} */ v) => set({ work_centre: v })}
      />
      <${NumberField}
        label=${say("combine.rate")}
        test="combine-rate"
        value=${c.rate_per_hour || ""}
        set=${(/** @type {number} */ v) => set({ rate_per_hour: v })}
        hint=${say("combine.rate.why")}
      />
      <${NumberField}
        label=${say("combine.one-off")}
        test="combine-one-off"
        value=${c.one_off || ""}
        set=${(/** @type {number} */ v) => set({ one_off: v })}
        hint=${say("combine.one-off.why")}
      />
    </div>
    <${Three}
      label=${say("combine.setup")}
      name="setup"
      value=${c.setup}
      set=${(/** @type {ThreeValues | undefined} */ v) => set({ setup: v })}
      hint=${say("combine.setup.why")}
    />
    <${Three}
      label=${say("combine.faster")}
      name="faster"
      value=${c.faster}
      percent
      set=${(/** @type {ThreeValues | undefined} */ v) => set({ faster: v })}
      hint=${say("combine.faster.why")}
    />
  </div>`;
}

const rests = ["cutting", "setup", "yield", "waits", "not"];

/**
 * Predicted says in plain words what the prediction rests on.
 * @param {{clamping: boolean, loss: string}} props
 */
export const Predicted = ({ clamping, loss }) =>
  html`<details class="predicted" open>
    <summary>${say("combine.rests")}</summary>
    <ul class="notes-list">
      ${rests.map(
        (k) =>
          html`<li key=${k}>
            ${k === "yield"
              ? say(
                  !clamping
                    ? "combine.rests.yield-none"
                    : loss
                      ? "combine.rests.yield"
                      : "combine.rests.yield-plain",
                  loss,
                )
              : say("combine.rests." + k)}
          </li>`,
      )}
    </ul>
  </details>`;

/**
 * emptyCombine is a combination to begin with: the operations that change a
 * work centre's clamping.
 * @param {string} part
 * @param {string} rev
 * @returns {CombineAsk}
 */
export function emptyCombine(part, rev) {
  const plan = planOf(part, rev);
  return {
    operations: plan
      ? plan.operations.filter((o) => o.clampings > 0 && !o.outside_days).map((o) => o.operation)
      : [],
    second: [],
    work_centre: "",
  };
}

/**
 * tidy leaves out what was not said, and what is no longer in the set-up.
 * @param {CombineAsk} c
 */
export function tidy(c) {
  /** @type {CombineAsk} */
  const out = { operations: c.operations, work_centre: c.work_centre };
  const second = (c.second || []).filter((o) => c.operations.includes(o));
  if (second.length) out.second = second;
  for (const k of /** @type {const} */ (["rate_per_hour", "one_off"])) if ((c[k] ?? 0) > 0) out[k] = c[k];
  for (const k of /** @type {const} */ (["setup", "piece", "yield", "faster"])) if (c[k]) out[k] = c[k];
  return out;
}

/**
 * Combine is the form on the page of comparing; done gets the route to ask for.
 * @param {{
 *   part: string, revs: string[], begin: Proposal, clamping: boolean, loss: string,
 *   done: (ask: Proposal) => void, close: () => void
 * }} props
 */
export function Combine({ part, revs, begin, clamping, loss, done, close }) {
  const ask = useSignal(begin),
    wrong = useSignal("");
  /** @type {Set} */
  const set = (some) => {
    ask.value = { ...ask.value, combine: { ...ask.value.combine, ...some } };
  };
  const go = () => {
    const a = ask.value;
    wrong.value = !a.combine.operations.length
      ? say("combine.no-operations")
      : !a.combine.work_centre
        ? say("combine.no-centre")
        : "";
    if (!wrong.value)
      done({ ...a, name: a.name?.trim() || say("combine.name.default"), combine: tidy(a.combine) });
  };
  return html`<section class="combine" data-test="combine">
    <h2>${say("combine.title")}</h2>
    <p>${say("combine.how")}</p>
    <${CombineFields}
      part=${part}
      ask=${ask.value}
      set=${set}
      name=${(/** @type {string} */ name) => {
        ask.value = { ...ask.value, name };
      }}
      revs=${revs}
      setRev=${(/** @type {string} */ r) => {
        ask.value = {
          ...ask.value,
          route_rev: r,
          combine: { ...emptyCombine(part, r), work_centre: ask.value.combine.work_centre },
        };
      }}
    />
    <${Predicted} clamping=${clamping} loss=${loss} />
    ${wrong.value && html`<p class="problem" role="alert" data-test="combine-problem">${wrong.value}</p>`}
    <p class="deeds">
      <button class="act" data-test="combine-go" onClick=${go}>${say("combine.go")}</button>
      <button data-test="combine-close" onClick=${close}>${say("leave")}</button>
    </p>
  </section>`;
}
