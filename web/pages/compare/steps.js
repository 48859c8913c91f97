// The operations of each route with their values, what someone knows better in their
// place, and the release of a proposal.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { Hint } from "../../lib/marks.js";
import { may } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { say } from "../../lib/words.js";
import { changeRoute, state, threeNames } from "./state.js";
import { entry, typed } from "../../lib/numbers.js";
import { hours, num, NumberField, percent, title, whole } from "./text.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {Schema["ComparedStep"]} Step
 * @typedef {Schema["Override"]["what"]} What
 * Shown is what is shown with its low and high, and can be changed.
 * @typedef {keyof typeof field} Shown
 */

// The operations of each route with their values: where each comes from, and in
// place of it what someone knows better, as low, likely and high.

/** @type {(what: Shown, x: number) => string} */
const shown = (what, x) => (what === "yield" ? percent(x) : num(x, what === "setup" || x >= 100 ? 1 : 2));
const field = /** @type {const} */ ({
  setup: "setup_min",
  piece: "piece_min",
  yield: "yield",
  wait: "wait_min",
});
/** @param {What} what */
const scale = (what) => (what === "yield" ? 100 : 1); // percent is typed

/**
 * put puts {low, likely, high} in place of a value; null takes it back.
 * @param {number} i
 * @param {Step} step
 * @param {What} what
 * @param {Schema["ThreeValues"] | null} value
 */
function put(i, step, what, value) {
  const ask = state.value.routes[i],
    c = ask.combine;
  if (c && c.operations.includes(step.operation) && what !== "wait" && what !== "rate") {
    const { [what]: _, ...rest } = c;
    return changeRoute(i, { combine: value ? { ...c, [what]: value } : rest });
  }
  const others = (ask.overrides || []).filter((o) => o.operation !== step.operation || o.what !== what);
  return changeRoute(i, {
    overrides: value ? [...others, { operation: step.operation, what, ...value }] : others,
  });
}

/**
 * mine is what this page says in place of a value, if it does.
 * @param {number} i
 * @param {Step} step
 * @param {Shown} what
 */
function mine(i, step, what) {
  const ask = state.value.routes[i],
    c = ask && ask.combine;
  if (!ask) return null;
  if (c && c.operations.includes(step.operation) && what !== "wait") return c[what] || null;
  return (ask.overrides || []).find((o) => o.operation === step.operation && o.what === what) || null;
}

/** @param {{i: number, step: Step, what: Shown, value: Schema["Value"], close: () => void}} props */
function Edit({ i, step, what, value, close }) {
  const k = scale(what),
    start = (/** @type {number} */ x) => entry(Number((k * x).toPrecision(5)));
  const f = useSignal({ low: start(value.low), likely: start(value.likely), high: start(value.high) }),
    wrong = useSignal("");
  const go = () => {
    const [low, likely, high] = threeNames.map((n) => typed(f.value[n]) / k);
    if (!(low >= 0 && low <= likely && likely <= high && (what !== "yield" || (high <= 1 && low > 0)))) {
      wrong.value = say("compare.order");
      return;
    }
    put(i, step, what, { low, likely, high });
    close();
  };
  const test = `${i}-${step.operation}-${what}`;
  return html`<div class="value-edit" data-test="value-edit">
    ${threeNames.map(
      (n) => html`<label key=${n}>
        ${say("compare." + n)}
        <input
          type="text"
          inputmode="decimal"
          data-test=${`edit-${n}`}
          value=${f.value[n]}
          onInput=${(/** @type {Input} */ e) => {
            f.value = { ...f.value, [n]: e.target.value };
          }}
          onKeyDown=${(/** @type {KeyboardEvent} */ e) => {
            if (e.key === "Enter") {
              e.preventDefault();
              go();
            }
          }}
        />
      </label>`,
    )}
    ${wrong.value && html`<p class="problem">${wrong.value}</p>`}
    <span class="deeds">
      <button class="act" type="button" data-test="edit-ok" data-at=${test} onClick=${go}>
        ${say("compare.take")}
      </button>
      <button type="button" onClick=${close}>${say("leave")}</button>
    </span>
  </div>`;
}

/** @param {{v: Schema["Value"]}} props */
function Source({ v }) {
  return html`<${Hint}>
    ${v.source === "measured"
      ? say("compare.source.measured", v.n)
      : say("compare.source." + (v.source || "planned"))}
  <//>`;
}

/** @param {{i: number, step: Step, what: Shown}} props */
function ValueCell({ i, step, what }) {
  const open = useSignal(false),
    v = step[field[what]],
    set = mine(i, step, what);
  if (open.value)
    return html`<${Edit}
      i=${i}
      step=${step}
      what=${what}
      value=${v}
      close=${() => {
        open.value = false;
      }}
    />`;
  return html`
    <button
      class="link"
      data-test=${`value-${i}-${step.operation}-${what}`}
      title=${say("compare.edit")}
      onClick=${() => {
        open.value = true;
      }}>
      ${shown(what, v.likely)}
    </button>
    ${v.low !== v.high &&
    html`<small class="range-text">${shown(what, v.low)} – ${shown(what, v.high)}</small>`}
    <span class="source" data-source=${v.source}><${Source} v=${v} /></span>
    ${set &&
    html`<button
      class="quiet"
      data-test=${`back-${i}-${step.operation}-${what}`}
      onClick=${() => put(i, step, what, null)}>
      ${say("compare.take-back")}
    </button>`}
  `;
}

/**
 * Rate is what an hour of the machine costs, for this comparison.
 * @param {{i: number, step: Step}} props
 */
function Rate({ i, step }) {
  const ask = state.value.routes[i];
  const set = (/** @type {number} */ x) => {
    if (ask.combine && ask.combine.operations.includes(step.operation))
      changeRoute(i, { combine: { ...ask.combine, rate_per_hour: x } });
    else put(i, step, "rate", { low: x, likely: x, high: x });
  };
  return html`
    <${NumberField}
      label=${html`<span class="unseen">${say("compare.col.rate")}</span>`}
      test=${`rate-${i}-${step.operation}`}
      value=${step.rate_per_hour}
      set=${set}
    />
    ${step.rate_per_hour === 0 && html`<small>${say("compare.no-rate")}</small>`}
  `;
}

/**
 * PlanToggle takes the plan of an operation although it was measured.
 * @param {{i: number, step: Step}} props
 */
function PlanToggle({ i, step }) {
  const ask = state.value.routes[i],
    planned = (ask && ask.planned) || [],
    on = planned.includes(step.operation);
  const measured = [step.setup_min, step.piece_min, step.yield].some((v) => v.source === "measured");
  if (!ask || (!on && !measured)) return null;
  const flip = () =>
    changeRoute(i, {
      planned: on ? planned.filter((o) => o !== step.operation) : [...planned, step.operation],
    });
  return html`<label class="check">
    <input type="checkbox" checked=${on} data-test=${`plan-${i}-${step.operation}`} onChange=${flip} />
    ${say("compare.take-plan")}
  </label>`;
}

/** @param {{i: number, step: Step}} props */
function Row({ i, step }) {
  const cell = (/** @type {string} */ k, /** @type {unknown} */ body) =>
    html`<td data-label=${say("compare.head." + k)}>${body}</td>`;
  return html`<tr data-test="step" data-operation=${step.operation}>
    <th scope="row">
      <b>${step.operation}</b> ${step.work_centre}
      <small>
        ${step.clampings === 1
          ? say("compare.clamping")
          : step.clampings
            ? say("compare.clampings", step.clampings)
            : ""}
      </small>
    </th>
    ${step.outside
      ? html`<td colspan="3" data-label=${say("compare.col.outside")}>
          ${say("compare.away", hours(step.away_min.likely / 60), hours(step.away_min.high / 60))}${" "}
          <${Source} v=${step.away_min} />
        </td>`
      : html`
          ${cell("setup", html`<${ValueCell} i=${i} step=${step} what="setup" />`)}
          ${cell(
            "piece",
            html`
              <${ValueCell} i=${i} step=${step} what="piece" />
              ${step.load_min > 0 && html`<small>${say("compare.load", num(step.load_min, 2))}</small>`}
            `,
          )}
          ${cell("yield", html`<${ValueCell} i=${i} step=${step} what="yield" />`)}
        `}
    ${cell(
      "wait",
      html`
        ${hours(step.wait_min.likely / 60)}
        <small>${say("compare.p85", hours(step.wait_min.high / 60))}</small>
        <${Source} v=${step.wait_min} />
      `,
    )}
    ${cell("stop", html`${hours(step.stop_min.likely / 60)}<small>${whole(step.metres)} m</small>`)}
    ${step.outside ? html`<td></td>` : cell("rate", html`<${Rate} i=${i} step=${step} />`)}
    <td><${PlanToggle} i=${i} step=${step} /></td>
  </tr>`;
}

/** @param {{v: import("./state.js").Comparison, extra?: (i: number) => unknown}} props */
export function Steps({ v, extra }) {
  return html`<section data-test="steps">
    <h2>${say("compare.steps")}</h2>
    <p class="soft">${say("compare.steps.why", v.few)}</p>
    ${v.routes.map(
      (r, i) => html`<details
        key=${i}
        class="steps"
        open=${Boolean(state.value.routes[i] && state.value.routes[i].combine)}
        data-test="steps-of"
        data-route=${i}>
        <summary>${title(r)}: ${say("compare.operations", r.steps.length)}</summary>
        <table class="stack">
          <thead>
            <tr>
              <th>${say("compare.col.operation")}</th>
              ${["setup", "piece", "yield", "wait", "stop", "rate"].map(
                (k) => html`<th key=${k}>${say("compare.head." + k)}</th>`,
              )}
              <td></td>
            </tr>
          </thead>
          <tbody>${r.steps.map((s) => html`<${Row} key=${s.operation} i=${i} step=${s} />`)}</tbody>
        </table>
        ${extra && extra(i)}
      </details>`,
    )}
  </section>`;
}

// A proposal becomes a route revision that batches can be released on.

/** @param {{i: number}} props */
export function Release({ i }) {
  const ask = state.value.routes[i],
    rev = useSignal(""),
    wrong = useSignal(""),
    done = useSignal(""),
    busy = useSignal(false);
  if (!ask || !ask.combine) return null;
  if (!may("plan")) return html`<p class="soft">${say("release.planners")}</p>`;
  const go = async (/** @type {Event} */ e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    wrong.value = "";
    try {
      const r = await post("/api/v1/compare/release", {
        part: state.value.part,
        route: ask,
        route_rev: rev.value.trim(),
      });
      done.value = r.route_rev;
      await loadShop();
    } catch (err) {
      wrong.value = /** @type {Error} */ (err).message;
    } finally {
      busy.value = false;
    }
  };
  if (done.value)
    return html`<p class="released" role="status" data-test="route-released">
      ${say("compare.released", done.value, state.value.part)}${" "}
      <a class="button" href="/batches#release">${say("compare.to-batches")}</a>
    </p>`;
  return html`<form class="release-route" onSubmit=${go}>
    <h3>${say("compare.release", ask.name)}</h3>
    <p class="soft">${say("compare.release.how")}</p>
    <p class="deeds">
      <label>
        ${say("compare.release.rev")}
        <input
          required
          maxlength="40"
          autocomplete="off"
          value=${rev.value}
          data-test="release-rev"
          onInput=${(/** @type {Input} */ e) => {
            rev.value = e.target.value;
          }}
        />
      </label>
      <button class="act" type="submit" disabled=${busy.value} data-test="release-route">
        ${say("compare.release.do")}
      </button>
    </p>
    ${wrong.value && html`<p class="problem" role="alert" data-test="release-problem">${wrong.value}</p>`}
  </form>`;
}
