// Planned times to take over into a new revision of a route.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { entry, typed } from "../../lib/numbers.js";
import { failed, note } from "../../lib/shell.js";
import { loadShop, theShop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Fit"]} Fit
 * @typedef {import("../../lib/_types.js").Schema["Route"]["operations"][number]} Operation
 * @typedef {import("../../lib/_types.js").Input} Input
 */

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
export function TakeOver({ list }) {
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
