// Where the days go, what happens at the work centres, which assumption matters
// most, and what a clamping loses.
import { html } from "../../lib/vendor/ui.js";
import { Interval } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { PartsBar, PartsKey, sum } from "../../lib/strip.js";
import { say } from "../../lib/words.js";
import { hours, money, num, percent, Sample, title, whole, within } from "./text.js";

/**
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {import("./state.js").Comparison} Comparison
 */

/**
 * Strips are the lead times of the routes to one scale.
 * @param {{v: Comparison}} props
 */
export function Strips({ v }) {
  const top = Math.max(1, ...v.routes.map((r) => sum(r.parts)));
  const revs = v.routes.filter((r) => r.name === r.route_rev).map((r) => r.route_rev),
    walk = new URLSearchParams({ part: v.part });
  if (revs[0]) walk.set("route_rev", revs[0]);
  if (revs[1]) walk.set("over", revs[1]);
  return html`<section data-test="strips">
    <h2>${say("compare.strips")}</h2>
    ${v.routes.map(
      (r, i) => html`<div key=${i} class="strip-row">
        <span><${Sample} i=${i} /> ${title(r)}</span>
        <${PartsBar} parts=${r.parts} top=${top} high=${32} />
        <small>
          ${say(
            "compare.strip." + r.result.lead_is,
            hours(sum(r.parts) / 3600),
            hours(r.result.lead_h),
            hours(r.result.lead_high_h),
          )}${" "}
          ${say("compare.lead.why." + r.result.lead_is)}
        </small>
      </div>`,
    )}
    <${PartsKey} />
    <p class="soft">${say("compare.wip.why")}</p>
    ${revs.length > 0 &&
    html`<p class="deeds">
      <a class="button" data-test="to-ground" href=${"/ground?" + walk}>
        ${revs.length > 1 ? say("compare.walks", revs[0], revs[1]) : say("compare.walk", revs[0])}
      </a>
    </p>`}
  </section>`;
}

/**
 * queue is a mean wait in words; null is one without an end, where the load is
 * known.
 * @param {number | null} q
 * @param {number | null} load
 */
const queue = (q, load) =>
  q !== null ? hours(q / 60) : load === null ? say("none") : html`<b>${say("compare.never")}</b>`;

/** @param {{c: Schema["CentreShift"], names: [string, string]}} props */
function CentreRow({ c, names }) {
  const d = (c.second_h ?? 0) - (c.first_h ?? 0),
    cell = (/** @type {string} */ k, /** @type {unknown} */ body) =>
      html`<td class="n" data-label=${say("compare.centre." + k, ...names)}>${body}</td>`;
  return html`<tr data-test="centre" data-centre=${c.work_centre}>
    <th scope="row">
      ${c.work_centre}
      <small>${c.machines > 1 ? say("compare.machines", c.machines) : ""}</small>
    </th>
    ${cell("first", num(c.first_h, 0))}
    ${cell("second", num(c.second_h, 0))}
    ${cell(
      "moved",
      html`<b>
        ${d > 0.5
          ? say("compare.takes", num(d, 0))
          : d < -0.5
            ? say("compare.frees", num(-d, 0))
            : say("compare.same")}
      </b>`,
    )}
    ${cell("load", percent(c.load, 0))}
    ${cell("load-first", percent(c.first, 0))}
    ${cell("load-then", percent(c.then, 0))}
    ${cell("queue-first", queue(c.queue_min, c.first))}
    ${cell("queue-then", queue(c.queue_then_min, c.then))}
  </tr>`;
}

/** @param {{v: Comparison}} props */
export function Centres({ v }) {
  if (v.against.length === 0) return null;
  const rows = (/** @type {Schema["Against"]} */ a) => () =>
    a.centres.map((c) => [
      c.work_centre,
      c.machines,
      c.first_h,
      c.second_h,
      c.load,
      c.first,
      c.then,
      c.queue_min,
      c.queue_then_min,
    ]);
  const cols = ["first", "second", "moved", "load", "load-first", "load-then", "queue-first", "queue-then"];
  return html`<section data-test="centres">
    <h2>${say("compare.centres")}</h2>
    <p>${say("compare.centres.why", whole(v.demand))}</p>
    ${v.against.map(
      (a, k) => html`<div key=${k}>
        <h3>${say("compare.against", title(v.routes[k + 1]), within(v.routes[0]))}</h3>
        <table class="stack centres">
          <thead>
            <tr>
              <th>${say("compare.centre")}</th>
              ${cols.map(
                (c) =>
                  html`<th key=${c} class="n">
                    ${say("compare.centre." + c, within(v.routes[0]), within(v.routes[k + 1]))}
                  </th>`,
              )}
            </tr>
          </thead>
          <tbody>
            ${a.centres.map(
              (c) =>
                html`<${CentreRow}
                  key=${c.work_centre}
                  c=${c}
                  names=${[within(v.routes[0]), within(v.routes[k + 1])]}
                />`,
            )}
          </tbody>
        </table>
        <${CsvButton}
          name="work-centres"
          head=${[
            "work_centre",
            "machines",
            "first_h",
            "second_h",
            "load_last_quarter",
            "load_first",
            "load_second",
            "queue_first_min",
            "queue_second_min",
          ]}
          rows=${rows(a)}
        />
      </div>`,
    )}
    <p class="soft">${say("compare.centres.caution")}</p>
  </section>`;
}

/** @param {{low: number, high: number, at: number, from: number, to: number, label: string}} props */
function Bar({ low, high, at, from, to, label }) {
  const x = (/** @type {number} */ v) => `${(100 * (v - from)) / Math.max(1e-12, to - from)}%`,
    a = Math.min(low, high),
    b = Math.max(low, high);
  return html`<svg class="tornado" role="img" aria-label=${label} width="100%" height="26">
    <title>${label}</title>
    <rect x=${x(a)} width=${`${(100 * (b - a)) / Math.max(1e-12, to - from)}%`} y="4" height="18" />
    <line x1=${x(at)} x2=${x(at)} y1="0" y2="26" />
  </svg>`;
}

/** @param {Schema["Value"]} v */
const source = (v) =>
  v.source === "measured"
    ? say("compare.source.measured", v.n)
    : say("compare.source." + (v.source || "planned"));

/**
 * weighed are the assumptions of a route that matter, with the cost of a good piece by each.
 * @param {Schema["ComparedRoute"]} r
 */
function weighed(r) {
  const all = r.assumptions.flatMap((a) =>
    a.cost_low === null || a.cost_high === null ? [] : [{ a, low: a.cost_low, high: a.cost_high }],
  );
  return { at: r.result.each_cost ?? 0, list: all.slice(0, 6) };
}

/**
 * Assumptions are what is uncertain, what matters most first, on one scale for
 * all routes.
 * @param {{v: Comparison}} props
 */
export function Assumptions({ v }) {
  const shown = v.routes.map(weighed);
  if (shown.every((s) => s.list.length === 0))
    return html`<section>
      <h2>${say("compare.matters")}</h2>
      <p class="empty">${say("compare.matters.none")}</p>
    </section>`;
  // One scale for all, each around its own cost.
  const half =
    1.05 *
    Math.max(
      1e-9,
      ...shown.flatMap((s) => s.list.flatMap((x) => [Math.abs(x.low - s.at), Math.abs(x.high - s.at)])),
    );
  return html`<section data-test="assumptions">
    <h2>${say("compare.matters")}</h2>
    <p class="soft">${say("compare.matters.why", v.costs.currency)}</p>
    ${v.routes.map(
      (r, i) =>
        shown[i].list.length > 0 &&
        html`<div key=${i}>
          <h3><${Sample} i=${i} /> ${title(r)}</h3>
          <table class="stack tornado-table">
            <tbody>
              ${shown[i].list.map(
                ({ a, low, high }) => html`<tr key=${`${a.operation}-${a.what}`} data-test="assumption">
                  <th scope="row">
                    ${say("compare.assumption", say("compare.col." + a.what), a.operation)}
                    <small>${source(a.value)}</small>
                  </th>
                  <td class="wide">
                    <${Bar}
                      low=${low}
                      high=${high}
                      at=${shown[i].at}
                      from=${shown[i].at - half}
                      to=${shown[i].at + half}
                      label=${[low, high].map((x) => money(x, v.costs.currency)).join(" – ")}
                    />
                  </td>
                  <td class="n">${num(Math.min(low, high))} – ${num(Math.max(low, high))}</td>
                </tr>`,
              )}
            </tbody>
          </table>
        </div>`,
    )}
  </section>`;
}

/**
 * Clamping is the shop's own loss with each clamping.
 * @param {{v: Comparison}} props
 */
export function Clamping({ v }) {
  const c = v.clamping,
    l = c.loss;
  if (!c.known)
    return html`<section data-test="clamping">
      <h2>${say("compare.clamping.title")}</h2>
      <p class="empty">${say("compare.clamping.none")}</p>
    </section>`;
  const from = Math.min(0, l.low),
    to = Math.max(l.high * 1.15, 0.001);
  return html`<section data-test="clamping">
    <h2>${say("compare.clamping.title")}</h2>
    <div class="estimate alone">
      <b>${percent(l.likely)}</b>
      <${Interval}
        value=${l.likely}
        low=${l.low}
        high=${l.high}
        from=${from}
        to=${to}
        label=${say("compare.in95", percent(l.low), percent(l.high))}
      />
      <small>${say("compare.in95", percent(l.low), percent(l.high))}</small>
    </div>
    <p>
      ${say(
        "compare.clamping.says",
        percent(l.likely),
        percent(l.low),
        percent(l.high),
        whole(c.batches),
        c.parts,
      )}
    </p>
    <p>${say("compare.clamping.how")}</p>
  </section>`;
}
