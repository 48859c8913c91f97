// What is compared: the part, the batch, the routes, the costs.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { failed, me } from "../../lib/shell.js";
import { theShop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { change, changeRoute, choosePart, costNames, mostRoutes, state } from "./state.js";
import { NumberField, Pick, Sample, title, whole } from "./text.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./state.js").Comparison} Comparison
 * @typedef {import("./state.js").ComparedRoute} ComparedRoute
 * @typedef {import("./state.js").RouteAsk} RouteAsk
 * Edit opens the form of the proposal that stands at a place; -1 is a new one.
 * @typedef {(i: number) => void} Edit
 */

/** @param {string} part */
export const revsOf = (part) =>
  theShop()
    .parts.filter((p) => p.part === part)
    .map((p) => p.route_rev);
/** @returns {[string, string][]} */
export const partsList = () =>
  [...new Map(theShop().parts.map((p) => [p.part, p.part_name])).entries()].map(([p, n]) => [
    p,
    n ? `${p} ${n}` : p,
  ]);

/**
 * Costs asks what money is worked out with; set gets all of them.
 * @param {{costs: import("./state.js").Costs, set: (costs: import("./state.js").Costs) => void}} props
 */
export function Costs({ costs, set }) {
  const one = (/** @type {keyof typeof costs} */ k, /** @type {string | number} */ v) =>
    set({ ...costs, [k]: v });
  return html`<details class="costs">
    <summary data-test="costs">${say("compare.costs", costs.currency || me.value?.currency)}</summary>
    <div class="fields">
      <label>
        ${say("compare.currency")}
        <input
          maxlength="3"
          size="4"
          value=${costs.currency || me.value?.currency}
          data-test="currency"
          list="currencies"
          autocomplete="off"
          onChange=${(/** @type {Input} */ e) => one("currency", e.target.value.trim().toUpperCase())}
        />
      </label>
      <datalist id="currencies">
        ${(Intl.supportedValuesOf ? Intl.supportedValuesOf("currency") : []).map(
          (c) => html`<option key=${c} value=${c} />`,
        )}
      </datalist>
      ${costNames.map(
        (k) =>
          html`<${NumberField}
            key=${k}
            label=${say("compare." + k)}
            test=${k}
            value=${k === "manned" ? Math.round(100 * costs[k]) : costs[k]}
            max=${k === "manned" ? 100 : undefined}
            set=${(/** @type {number} */ v) => one(k, k === "manned" ? v / 100 : v)}
          />`,
      )}
    </div>
    <p class="soft">${say("compare.costs.why")}</p>
  </details>`;
}

/** @param {{choose: (part: string) => void}} props */
function Batch({ choose }) {
  const s = state.value;
  const set = (/** @type {"size" | "good" | "demand"} */ k) => (/** @type {number} */ v) =>
    change({ [k]: v });
  return html`<div class="fields">
    <${Pick}
      label=${say("filter.part")}
      test="part"
      wide
      value=${s.part}
      options=${partsList()}
      set=${choose}
    />
    <${NumberField}
      label=${say("compare.size")}
      test="size"
      value=${s.size}
      min=${1}
      step="1"
      set=${set("size")}
    />
    <${NumberField} label=${say("compare.good")} test="good" value=${s.good} step="1" set=${set("good")} />
    <${NumberField}
      label=${say("compare.demand")}
      test="demand"
      value=${s.demand || ""}
      set=${set("demand")}
      hint=${say("compare.demand.why")}
    />
  </div>`;
}

// More is what is seldom changed: the confidence, and the batches measured.
function More() {
  const s = state.value;
  return html`<details class="costs">
    <summary data-test="more">${say("compare.more", s.confidence)}</summary>
    <div class="fields">
      <${NumberField}
        label=${say("compare.confidence")}
        test="confidence"
        value=${s.confidence}
        min=${1}
        max=${99.9}
        set=${(/** @type {number} */ confidence) => change({ confidence })}
      />
      <label>
        ${say("compare.from")}
        <input
          type="date"
          value=${s.from}
          data-test="from"
          onChange=${(/** @type {Input} */ e) => change({ from: e.target.value })}
        />
      </label>
      <label>
        ${say("compare.to")}
        <input
          type="date"
          value=${s.to}
          data-test="to"
          onChange=${(/** @type {Input} */ e) => change({ to: e.target.value })}
        />
      </label>
    </div>
  </details>`;
}

/** @param {{ask: RouteAsk, i: number, edit: Edit, v: ComparedRoute | null}} props */
function Chosen({ ask, i, edit, v }) {
  const uses = [
    ["", say("compare.use.mixed")],
    ["planned", say("compare.use.planned")],
  ];
  const n = (ask.overrides || []).length + (ask.planned || []).length;
  return html`<li class="chosen-route" data-test="chosen-route">
    <${Sample} i=${i} />
    <b>${title({ ...ask, name: ask.name || ask.route_rev })}</b>
    ${ask.combine
      ? html`<span>
          ${say(
            "compare.combined-from",
            ask.route_rev,
            ask.combine.operations.join(", "),
            ask.combine.work_centre,
          )}
        </span>`
      : html`<${Pick}
          label=${say("compare.use")}
          test="use"
          value=${ask.use || ""}
          options=${uses}
          set=${(/** @type {RouteAsk["use"]} */ u) => changeRoute(i, { use: u })}
        />`}
    <span class="soft">
      ${v ? count("compare.batches-behind", v.batches) : ""} ${n > 0 ? say("compare.edited", n) : ""}
    </span>
    <span class="deeds">
      ${ask.combine &&
      html`<button class="quiet" data-test="change-proposal" onClick=${() => edit(i)}>
        ${say("compare.change-proposal")}
      </button>`}
      ${i > 0 &&
      html`<button
        class="quiet"
        data-test="make-first"
        onClick=${() => {
          const l = [...state.value.routes];
          const [r] = l.splice(i, 1);
          change({ routes: [r, ...l] });
        }}>
        ${say("compare.make-first")}
      </button>`}
      ${state.value.routes.length > 1 &&
      html`<button class="quiet" data-test="take-off" onClick=${() => changeRoute(i, null)}>
        ${say("remove")}
      </button>`}
    </span>
  </li>`;
}

/** @param {{edit: Edit, answer: Comparison | null}} props */
function Routes({ edit, answer }) {
  const s = state.value,
    pick = useSignal(""),
    revs = revsOf(s.part),
    full = s.routes.length >= mostRoutes;
  const chosen = revs.includes(pick.value)
    ? pick.value
    : revs.find((r) => !s.routes.some((x) => x.route_rev === r && !x.combine)) || revs[0];
  const add = () => {
    const again = s.routes.some((x) => x.route_rev === chosen && !x.combine);
    change({
      routes: [
        ...s.routes,
        again
          ? { route_rev: chosen, use: "planned", name: say("compare.as-planned", chosen) }
          : { route_rev: chosen },
      ],
    });
  };
  return html`
    <ul class="chosen-routes">
      ${s.routes.map(
        (r, i) => html`<${Chosen} key=${i} ask=${r} i=${i} edit=${edit} v=${answer && answer.routes[i]} />`,
      )}
    </ul>
    ${!full &&
    html`<p class="deeds">
      <${Pick}
        label=${say("compare.another")}
        test="add-rev"
        value=${chosen}
        options=${revs.map((r) => [r, say("compare.route", r)])}
        set=${(/** @type {string} */ v) => {
          pick.value = v;
        }}
      />
      <button data-test="add-route" onClick=${add}>${say("compare.add")}</button>
      <button data-test="to-combine" onClick=${() => edit(-1)}>${say("compare.combine")}</button>
    </p>`}
  `;
}

/**
 * Form is all of it.
 * @param {{edit: Edit, answer: Comparison | null}} props
 */
export function Form({ edit, answer }) {
  const s = state.value;
  const choose = (/** @type {string} */ part) => choosePart(part, revsOf(part)).catch(failed);
  return html`<form class="ask" data-test="ask" onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
    <${Batch} choose=${choose} />
    <${Routes} edit=${edit} answer=${answer} />
    <div class="folded">
      <${Costs}
        costs=${s.costs}
        set=${(/** @type {import("./state.js").Costs} */ costs) => change({ costs })}
      />
      <${More} />
    </div>
    <p class="soft">${say("compare.in-address", answer ? whole(answer.demand) : say("none"))}</p>
  </form>`;
}
