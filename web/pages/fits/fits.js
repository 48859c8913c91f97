// Planned times against what was: which are out, and taking over what was measured.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { Interval } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { Filters, query, selection } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { entry, fixed, typed, wholePercent } from "../../lib/numbers.js";
import { failed, may, me, note, start } from "../../lib/shell.js";
import { loadShop, shop, theShop } from "../../lib/shop.js";
import { minutes, span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { offText, Pools } from "./pools.js";

/**
 * @typedef {import("../../lib/types.js").Schema["Fits"]} Fits
 * @typedef {import("../../lib/types.js").Schema["Fit"]} Fit
 * @typedef {import("../../lib/types.js").Schema["Route"]["operations"][number]} Operation
 * @typedef {import("../../lib/types.js").Input} Input
 * @typedef {[number, number]} Range
 */

// Planned times against what was: the plan as one hundred per cent for all, so
// that the rows of a table have one scale.

/** @param {number | null} s */
const timeText = (s) => (s === null ? say("none") : span(s * 1000));

/**
 * both is a time with its name: plan or actual.
 * @param {string} name
 * @param {number | null} s
 */
const both = (name, s) => `${say("fits." + name)} ${timeText(s)}`;

/**
 * batchText is what a batch takes more or less than planned.
 * @param {number | null} s
 */
const batchText = (s) =>
  s === null ? "" : say(s < 0 ? "fits.batch.less" : "fits.batch.more", fixed(Math.abs(s) / 60, 1));

/** @param {number} p */
const chance = (p) => (p < 0.001 ? say("fits.p.less", fixed(0.001, 3)) : fixed(p, 3));

/** @param {Fit} f */
const link = (f) =>
  "/pace/operation?" +
  new URLSearchParams({ part: f.part, route_rev: f.route_rev, operation: String(f.operation) });

/** @param {{f: Fit, range: Range}} props */
function Row({ f, range }) {
  const interval = f.low_s === null ? say("few") : say("between.95", timeText(f.low_s), timeText(f.high_s));
  /** @type {(k: string, v: unknown, cls?: string) => unknown} */
  const cell = (k, v, cls) => html`<td class=${cls} data-label=${say(k)}>${v}</td>`;
  return html`<tr
    data-test="fit"
    data-part=${f.part}
    data-operation=${f.operation}
    data-what=${f.what}
    data-off=${f.off ? "1" : "0"}>
    <th scope="row">
      <a class="open-op" href=${link(f)}>${say("losses.operation-of", f.part, f.operation)}</a>${" "}
      <small>${[f.part_name, say("route.rev", f.route_rev), f.work_centre].filter(Boolean).join(", ")}</small>
    </th>
    ${cell("fits.what", say("fits.what." + f.what), "unbroken")}
    ${cell("fits.plan", timeText(f.plan_s), "n")}
    ${cell("fits.actual", html`<b>${timeText(f.actual_s)}</b> <small>${f.n > 0 ? interval : ""}</small>`)}
    <td class="wide">
      ${f.ratio !== null &&
      html`<${Interval}
        value=${f.ratio}
        low=${f.low_s === null ? null : f.low_s / f.plan_s}
        high=${f.high_s === null ? null : f.high_s / f.plan_s}
        plan=${1}
        from=${range[0]}
        to=${range[1]}
        label=${[both("plan", f.plan_s), both("actual", f.actual_s), interval].join(", ")}
      />`}
    </td>
    ${cell(
      "fits.ratio",
      f.ratio === null
        ? say("none")
        : html`
            ${f.off ? html`<b>${offText(f.ratio)}</b>` : offText(f.ratio)}${" "}
            <small data-test="fit-batch">${batchText(f.batch_s)}</small>
          `,
    )}
    ${cell(
      "nav.batches",
      html`${f.n} ${f.left_out > 0 && html`<small>${count("fits.left-out", f.left_out)}</small>`}`,
      "n",
    )}
    ${cell("fits.p", f.p === null ? say("none") : chance(f.p), "n")}
  </tr>`;
}

/** @param {{list: Fit[], range: Range}} props */
const FitTable = ({ list, range }) => html`<table class="fits stack">
  <thead>
    <tr>
      <th>${say("head.operation")}</th>
      <th>${say("fits.what")}</th>
      <th class="n">${say("fits.plan")}</th>
      <th>${say("fits.actual")}</th>
      <th class="ends"><span>${wholePercent(range[0])}</span><span>${wholePercent(range[1])}</span></th>
      <th>${say("fits.ratio")}</th>
      <th class="n">${say("nav.batches")}</th>
      <th class="n">${say("fits.p")}</th>
    </tr>
  </thead>
  <tbody>
    ${list.map(
      (f) =>
        html`<${Row} key=${[f.part, f.route_rev, f.operation, f.what].join("/")} f=${f} range=${range} />`,
    )}
  </tbody>
</table>`;

// Planned times to take over into a new revision of a route.

const nice = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5];

/**
 * rounded is minutes as a planner would write them: to the roundest step that
 * changes a time by a hundredth at most.
 * @param {number} minutes
 */
function rounded(minutes) {
  const step = nice.findLast((s) => s <= minutes * 0.02) || nice[0];
  return Number((Math.round(minutes / step) * step).toFixed(3));
}

/**
 * nextRev is a name that is free: the next number, or the old name with a 2.
 * @param {string} part
 * @param {string} rev
 */
function nextRev(part, rev) {
  const taken = new Set(
    theShop()
      .parts.filter((r) => r.part === part)
      .map((r) => r.route_rev),
  );
  let n = /^\d+$/.test(rev) ? Number(rev) : 1,
    name;
  do {
    n += 1;
    name = /^\d+$/.test(rev) ? String(n) : `${rev}-${n}`;
  } while (taken.has(name));
  return name;
}

/** @param {Fit} f */
const field = (f) => (f.what === "setup" ? "setup_min" : "cycle_min");

/**
 * @param {{f: Fit, o: Operation, choice: {value: Record<string, boolean>}, values: {value: Record<string,
 *   string>}}} props
 */
function Line({ f, o, choice, values }) {
  const key = f.operation + f.what,
    plan = o[field(f)],
    on = choice.value[key];
  return html`<tr data-test="take" data-operation=${f.operation} data-what=${f.what}>
    <td>
      <label class="check">
        <input
          type="checkbox"
          data-test="take-on"
          checked=${Boolean(on)}
          onChange=${(/** @type {Input} */ e) => {
            choice.value = { ...choice.value, [key]: e.target.checked };
          }}
        />
        <span>
          ${say("operation.of", f.operation)}, ${say("fits.what." + f.what)}
          ${f.what === "piece" && o.pieces_per_cycle > 1
            ? ", " + count("fits.cycle", o.pieces_per_cycle)
            : ""}
        </span>
      </label>
    </td>
    <td class="n" data-label=${say("fits.old")}>${say("fits.min", plan)}</td>
    <td data-label=${say("fits.new")}>
      <label>
        <span class="unseen">${say("fits.new")}</span>
        <input
          type="text"
          inputmode="decimal"
          data-test="take-value"
          value=${values.value[key]}
          onInput=${(/** @type {Input} */ e) => {
            values.value = { ...values.value, [key]: e.target.value };
          }}
        />
      </label>
    </td>
  </tr>`;
}

/**
 * TakeOver releases a new revision of one route with the chosen times.
 * @param {{list: Fit[]}} props
 */
function TakeOver({ list }) {
  const { part, route_rev } = list[0],
    route = theShop().parts.find((r) => r.part === part && r.route_rev === route_rev);
  const of = (/** @type {Fit} */ f) => route && route.operations.find((o) => o.operation === f.operation),
    usable = list.filter(of);
  const first = () =>
    Object.fromEntries(
      usable.map((f) => [
        f.operation + f.what,
        entry(
          rounded(
            ((f.actual_s ?? 0) / 60) * (f.what === "piece" ? Math.max(1, of(f)?.pieces_per_cycle ?? 1) : 1),
          ),
        ),
      ]),
    );
  const choice = useSignal(/** @type {Record<string, boolean>} */ ({})),
    values = useSignal(first()),
    rev = useSignal(nextRev(part, route_rev)),
    done = useSignal("");
  const picked = usable.filter((f) => choice.value[f.operation + f.what]);
  const wrong = picked.some((f) => !(typed(values.value[f.operation + f.what]) > 0));
  const go = async (/** @type {Event} */ e) => {
    e.preventDefault();
    const by = new Map();
    for (const f of picked)
      by.set(f.operation, {
        ...by.get(f.operation),
        operation: f.operation,
        [field(f)]: typed(values.value[f.operation + f.what]),
      });
    try {
      const made = await post("/api/v1/routes", {
        part,
        from_rev: route_rev,
        route_rev: rev.value.trim(),
        changes: [...by.values()],
      });
      done.value = made.route_rev;
      note("good", say("fits.done", made.route_rev, part, route_rev));
      loadShop().catch(failed);
    } catch (err) {
      failed(err);
    }
  };
  if (!route) return null;
  return html`<form
    class="take-over"
    data-test="take-over"
    data-part=${part}
    data-route=${route_rev}
    onSubmit=${go}>
    <h3>${say("fits.take", part, route_rev)}</h3>
    ${done.value
      ? html`<p data-test="take-done">
          ${say("fits.done", done.value, part, route_rev)}${" "}
          <a href=${"/batches#release"}>${say("way.release")}</a>
        </p>`
      : html`
          <table class="takes">
            <thead>
              <tr>
                <th>${say("fits.which")}</th>
                <th class="n">${say("fits.old")}</th>
                <th>${say("fits.new")}</th>
              </tr>
            </thead>
            <tbody>
              ${usable.map(
                (f) =>
                  html`<${Line}
                    key=${f.operation + f.what}
                    f=${f}
                    o=${of(f)}
                    choice=${choice}
                    values=${values}
                  />`,
              )}
            </tbody>
          </table>
          <div class="deeds">
            <label>
              ${say("fits.rev")}
              <input
                data-test="take-rev"
                value=${rev.value}
                onInput=${(/** @type {Input} */ e) => {
                  rev.value = e.target.value;
                }}
              />
            </label>
            <button
              class="act"
              data-test="take-go"
              disabled=${picked.length === 0 || wrong || !rev.value.trim()}>
              ${picked.length ? count("fits.go", picked.length, rev.value.trim()) : say("fits.go.none")}
            </button>
          </div>
          <p class="soft">${say("fits.stays", route_rev)}</p>
        `}
  </form>`;
}

// Which planned times no longer fit: a test of each against the batches, and a
// new route revision for those that someone wants to take over.

const head = /** @type {const} */ ([
  "part",
  "route_rev",
  "operation",
  "work_centre",
  "what",
  "plan_s",
  "actual_s",
  "low_s",
  "high_s",
  "ratio",
  "batch_s",
  "n",
  "left_out",
  "p",
  "off",
]);

/**
 * groupsOf are the routes that have a planned time that does not fit.
 * @param {Fit[]} list
 */
function groupsOf(list) {
  /** @type {Map<string, Fit[]>} */
  const by = new Map();
  for (const f of list.filter((x) => x.off)) {
    const k = JSON.stringify([f.part, f.route_rev]);
    by.set(k, [...(by.get(k) || []), f]);
  }
  return [...by.values()];
}

/**
 * rangeOf is the scale that all rows share, in parts of the plan.
 * @param {Fit[]} list
 * @returns {Range}
 */
const rangeOf = (list) => [
  Math.min(0.5, ...list.map((x) => Math.floor((10 * (x.low_s ?? x.plan_s)) / x.plan_s) / 10)),
  Math.max(1.5, ...list.map((x) => Math.min(3, Math.ceil((10 * (x.high_s ?? x.plan_s)) / x.plan_s) / 10))),
];

/** @param {{f: Fits}} props */
function Shown({ f }) {
  const off = f.fits.filter((x) => x.off),
    tested = f.fits.filter((x) => x.p !== null && !x.off),
    untested = f.fits.filter((x) => x.p === null);
  const range = rangeOf([...off, ...tested]);
  return html`
    <p class="summary" data-test="fits-summary">
      ${count("fits.tested", f.tested)} · ${count("fits.off", off.length)}
    </p>
    <p class="soft">
      ${say(
        "fits.how",
        Math.round(100 * f.discovery),
        Math.round(100 * f.difference),
        f.few,
        fixed(f.batch_difference_s / 60, 0),
      )}
    </p>
    ${off.length === 0
      ? html`<p class="empty" data-test="all-fit">
          ${say(f.tested ? "fits.all-fit" : "fits.too-few", f.few)}
        </p>`
      : html`<section data-test="off">
          <h2>${say("fits.off.title")}</h2>
          <${FitTable} list=${off} range=${range} />
          ${may("plan")
            ? shop.value &&
              groupsOf(off).map(
                (g) => html`<${TakeOver} key=${g[0].part + "/" + g[0].route_rev} list=${g} />`,
              )
            : html`<p class="soft">${say("fits.planners")}</p>`}
        </section>`}
    ${f.pools.length > 0 && html`<${Pools} f=${f} />`}
    ${tested.length > 0 &&
    html`<section>
      <details data-test="fitting">
        <summary><span>${count("fits.fitting", tested.length)}</span></summary>
        <${FitTable} list=${tested} range=${range} />
      </details>
    </section>`}
    ${untested.length > 0 &&
    html`<section>
      <details data-test="untested">
        <summary><span>${count("fits.untested", untested.length, f.few)}</span></summary>
        <${FitTable} list=${untested} range=${range} />
      </details>
    </section>`}
    ${f.fits.length > 0 &&
    html`<p class="deeds">
      <${CsvButton}
        name="planned-times"
        head=${head}
        rows=${() => f.fits.map((x) => head.map((k) => x[k]))}
      />
    </p>`}
  `;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const answer = useAnswer(`/api/v1/fits?${query(selection)}`);
  return html`
    <h1>${say("fits.title")}</h1>
    <${Filters} texts=${false} />
    <${Answered} answer=${answer} />
    ${answer.value && html`<${Shown} f=${answer.value} />`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
