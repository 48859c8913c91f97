// What a calendar comes to: its days with their open hours, a table for each
// seven of them.
import { html } from "../../lib/vendor/ui.js";
import { dateText } from "../../lib/times.js";
import { locale, say } from "../../lib/words.js";

/** @typedef {import("../../lib/_types.js").Schema["Day"]} Day */

/** @param {number} s */
const hours = (s) => String(Math.round(s / 360) / 10);

/**
 * clockOf writes times of day in the calendar's own zone.
 * @param {string} zone
 */
function clockOf(zone) {
  /** @type {Intl.DateTimeFormatOptions} */
  const options = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  try {
    return new Intl.DateTimeFormat(locale, { ...options, timeZone: zone });
  } catch {
    return new Intl.DateTimeFormat(locale, options);
  }
}

/**
 * spanText is an open stretch of a day; one that goes on past midnight ends at 24:00.
 * @param {number[]} span
 * @param {Intl.DateTimeFormat} clock
 */
function spanText([from, to], clock) {
  const ends = clock.format(to * 1000);
  return `${clock.format(from * 1000)}–${ends === "00:00" ? "24:00" : ends}`;
}

/** @param {{days: Day[], clock: Intl.DateTimeFormat}} props */
function Week({ days, clock }) {
  return html`<table class="week">
    <thead>
      <tr>
        <th scope="col">${say("calendars.day")}</th>
        <th scope="col">${say("calendars.hours")}</th>
        <th class="n" scope="col">${say("calendars.total")}</th>
      </tr>
    </thead>
    <tbody>
      ${days.map(
        (d) => html`<tr key=${d.date} data-test="day" data-date=${d.date} data-open=${d.open_s}>
          <th scope="row">${dateText(d.date)}</th>
          <td>
            ${d.spans.length
              ? d.spans.map((s, i) => html`${i ? ", " : ""}<span class="span">${spanText(s, clock)}</span>`)
              : html`<span class="soft">${say("calendars.closed")}</span>`}
          </td>
          <td class="n">${d.open_s > 0 ? hours(d.open_s) : ""}</td>
        </tr>`,
      )}
    </tbody>
    <tfoot>
      <tr>
        <td colspan="2"></td>
        <td class="n"><b>${say("calendars.h", hours(days.reduce((a, d) => a + d.open_s, 0)))}</b></td>
      </tr>
    </tfoot>
  </table>`;
}

/** @param {{days: Day[], zone: string}} props */
export function Weeks({ days, zone }) {
  const weeks = [],
    clock = clockOf(zone);
  for (let i = 0; i < days.length; i += 7) weeks.push(days.slice(i, i + 7));
  return html`<div class="weeks" data-test="weeks">
    ${weeks.map((w) => html`<${Week} key=${w[0].date} days=${w} clock=${clock} />`)}
  </div>`;
}
