// Load by work centre and week. Work that does not fit flows into the next week.
import { html } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { Hint } from "../../lib/marks.js";
import { number, wholePercent } from "../../lib/numbers.js";
import { dateText, span } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("./fresh.js").Forecast} Forecast
 * @typedef {Schema["ForecastWeek"]} ForecastWeek
 */

const SHOWN = 0.2; // hours: less tells nothing
/** @param {number} v */
const h = (v) => say("hours", number(v));

/**
 * Bar is the hours of a week against those that are open; what flows on is drawn after
 * them, striped.
 * @param {{w: ForecastWeek, most: number, label: string}} props
 */
function Bar({ w, most, label }) {
  const pc = (/** @type {number} */ v) => `${(100 * Math.min(v, most)) / most}%`;
  return html`<svg class="week" role="img" aria-label=${label} width="100%" height="14">
    <title>${label}</title>
    <rect class="whole" x="0" y="0" width=${pc(w.open)} height="14" />
    <rect class="part" data-test="hours" x="0" y="0" width=${pc(w.hours)} height="14" />
    ${w.carried > SHOWN &&
    html`<rect
      class="carried"
      data-test="carried"
      x=${pc(w.hours)}
      y="3"
      width=${pc(w.carried)}
      height="8"
    />`}
  </svg>`;
}

/** @param {{w: ForecastWeek, most: number, full: number}} props */
function Cell({ w, most, full }) {
  const nothing = w.hours < SHOWN && w.carried < SHOWN,
    share = w.open > 0 ? w.hours / w.open : null,
    isFull = share !== null && share >= full;
  const label = say("ahead.load.label", h(w.hours), h(w.open), h(w.carried));
  return html`<td
    class="load"
    data-test="load"
    data-week=${w.week}
    data-full=${isFull ? "1" : "0"}
    data-label=${dateText(w.week)}>
    ${nothing
      ? html`<small>${w.open > 0 ? say("ahead.load.free", h(w.open)) : say("ahead.load.closed")}</small>`
      : html`
          <${Bar} w=${w} most=${most} label=${label} />
          <small>
            ${say("ahead.load.of", h(w.hours), h(w.open))}
            ${share !== null &&
            html` · ${isFull ? html`<b>${wholePercent(share)}</b>` : wholePercent(share)}`}
          </small>
          ${w.carried > SHOWN && html` <small>${say("ahead.load.carried", h(w.carried))}</small>`}
        `}
  </td>`;
}

/** @param {{k: Schema["ForecastCentre"], f: Forecast, weeks: number}} props */
function CentreRow({ k, f, weeks }) {
  const most = Math.max(1, ...k.weeks.map((w) => Math.max(w.open, w.hours + w.carried)));
  return html`<tr data-test="load-centre" data-centre=${k.work_centre}>
    <th scope="row">
      ${k.work_centre}
      ${k.work_centre === f.holds_up && html` <${Hint}>${say("ahead.holds-up")}<//>`}
    </th>
    <td data-label=${say("ahead.delay")} data-test="delay">
      ${k.delay_s >= 60 ? span(k.delay_s * 1000) : say("none")}
    </td>
    <td data-label=${say("ahead.full")} data-test="full">
      ${k.full === k.weeks[0].week
        ? say("ahead.this-week")
        : k.full
          ? dateText(k.full)
          : say("ahead.full.none")}
    </td>
    ${k.weeks
      .slice(0, weeks)
      .map((w) => html`<${Cell} key=${w.week} w=${w} most=${most} full=${f.full_from} />`)}
  </tr>`;
}

const head = ["work_centre", "machines", "week", "hours", "open", "carried", "operations"];

/**
 * Load shows the weeks of a forecast, and which work centre holds the shop up.
 * @param {{f: Forecast, weeks: number}} props
 */
export function Load({ f, weeks }) {
  const busy = f.centres
      .filter((k) => k.weeks.some((w) => w.hours >= SHOWN || w.carried >= SHOWN))
      .sort((a, b) => b.delay_s - a.delay_s),
    idle = f.centres.filter((k) => !busy.includes(k)).map((k) => k.work_centre);
  const names = (busy[0]?.weeks || []).slice(0, weeks).map((w) => w.week),
    worst = f.centres.find((k) => k.work_centre === f.holds_up);
  return html`<section data-test="load-section">
    <h2>${say("ahead.load")}</h2>
    ${worst &&
    html`<p data-test="holds-up" data-centre=${worst.work_centre}>
      ${say("ahead.holds-up.says", worst.work_centre, span(worst.delay_s * 1000))}
      ${worst.full && ` ${say("ahead.load.full-from", dateText(worst.full))}`}
    </p>`}
    ${busy.length === 0
      ? html`<p class="empty" data-test="no-load">${say("ahead.load.none")}</p>`
      : html`<div class="wide-table">
          <table class="load-grid stack">
            <thead>
              <tr>
                <th scope="col">${say("ahead.centre")}</th>
                <th scope="col">${say("ahead.delay")}</th>
                <th scope="col">${say("ahead.full")}</th>
                ${names.map(
                  (w, i) =>
                    html`<th key=${w} scope="col">
                      ${i === 0 ? say("ahead.this-week") : say("ahead.week-of", dateText(w))}
                    </th>`,
                )}
              </tr>
            </thead>
            <tbody>
              ${busy.map((k) => html`<${CentreRow} key=${k.work_centre} k=${k} f=${f} weeks=${weeks} />`)}
            </tbody>
          </table>
        </div>`}
    <p class="soft">
      ${say("ahead.load.how", wholePercent(f.full_from))}${" "}
      ${f.method === "simulated" && say("ahead.load.releases")}${" "}
      ${idle.length > 0 && say("ahead.load.idle", idle.join(", "))}
    </p>
    <p class="deeds">
      <${CsvButton}
        name="load-ahead"
        head=${head}
        rows=${() =>
          f.centres.flatMap((k) =>
            k.weeks.map((w) => [k.work_centre, k.machines, w.week, w.hours, w.open, w.carried, w.operations]),
          )}
      />
    </p>
  </section>`;
}
