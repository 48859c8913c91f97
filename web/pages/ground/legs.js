// The legs of the walks as a table, and the trips behind one leg.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { CsvButton } from "../../lib/csv.js";
import { At, BatchLink } from "../../lib/marks.js";
import { failed } from "../../lib/shell.js";
import { count, say } from "../../lib/words.js";
import { metresText } from "./figures.js";
import { asked, sets } from "./walks.js";

/**
 * @typedef {import("./walks.js").SetLeg} SetLeg
 */

const shownFirst = 12;
/** @param {string} by */
const byText = (by) => say("ground.by." + (by || "aisles") + ".short");

/**
 * Legs is the table of the map. open gets {set, leg}.
 * @param {{open: (x: SetLeg) => void}} props
 */
export function Legs({ open }) {
  const all = useSignal(false);
  const two = sets.value.length > 1,
    name = (/** @type {number} */ i) => (asked.value[i] ? asked.value[i].name : "");
  const list = sets.value.flatMap((legs, set) => legs.map((leg) => ({ set, leg })));
  const shown = all.value ? list : list.slice(0, shownFirst);
  const head = [
    ...(two ? ["route"] : []),
    "from",
    "to",
    "trips",
    "batches",
    "metres",
    "trips_metres",
    "along",
  ];
  /** @param {SetLeg} x */
  const cells = ({ set, leg }) => [
    ...(two ? [name(set)] : []),
    leg.from,
    leg.to,
    leg.trips,
    leg.batches,
    leg.metres,
    Math.round(leg.metres * leg.trips * 10) / 10,
    leg.by,
  ];
  if (list.length === 0) return null;
  return html`<section data-test="legs">
    <div class="top">
      <h2>${say("ground.legs")}</h2>
      <${CsvButton} name="walks" head=${head} rows=${() => list.map(cells)} />
    </div>
    <table class="legs">
      <thead>
        <tr>
          ${two && html`<th scope="col">${say("ground.route-head")}</th>`}
          <th scope="col">${say("ground.leg")}</th>
          <th class="n" scope="col">${say("ground.figure.trips")}</th>
          <th class="n" scope="col">${say("ground.figure.batches")}</th>
          <th class="n" scope="col">${say("ground.once")}</th>
        </tr>
      </thead>
      <tbody>
        ${shown.map(
          (x) => html`<tr key=${x.set + x.leg.key} data-test="leg-row" data-leg=${x.leg.key}>
            ${two && html`<td>${name(x.set)}</td>`}
            <th scope="row">
              <button class="quiet" data-test="leg" onClick=${() => open(x)}>
                ${x.leg.from} → ${x.leg.to}
              </button>
            </th>
            <td class="n">${x.leg.trips}</td>
            <td class="n">${x.leg.batches}</td>
            <td class="n">
              ${metresText(x.leg.metres)}
              ${x.leg.by === "rectangular" ? html` <small>${byText(x.leg.by)}</small>` : ""}
            </td>
          </tr>`,
        )}
      </tbody>
    </table>
    ${list.length > shownFirst &&
    html`<button
      class="quiet"
      data-test="legs-all"
      onClick=${() => {
        all.value = !all.value;
      }}>
      ${all.value ? say("ground.fewer") : count("ground.all-legs", list.length)}
    </button>`}
  </section>`;
}

/**
 * Trips lists the trips of a leg, newest first, with the way to their batches.
 * @param {{x: SetLeg, close: () => void}} props
 */
export function Trips({ x, close }) {
  const got = useSignal(/** @type {import("../../lib/_types.js").Schema["Trips"] | null} */ (null));
  const { set, leg } = x,
    query = asked.value[set] ? asked.value[set].query : "";
  useEffect(() => {
    const q = new URLSearchParams(query);
    q.set("from_place", leg.from);
    q.set("to_place", leg.to);
    get(`/api/v1/ground/trips?${q}`).then((a) => {
      got.value = a;
    }, failed);
  }, [query, leg.key, leg.trips]);
  return html`<section class="opened" data-test="trips">
    <div class="top">
      <h2>${leg.from} → ${leg.to}</h2>
      <button data-test="close-trips" onClick=${close}>${say("close")}</button>
    </div>
    <p>${count("ground.trips", leg.trips)}, ${metresText(leg.metres)} ${byText(leg.by)}</p>
    ${got.value &&
    html`
      <ul class="trip-list">
        ${got.value.trips.map(
          (t, i) =>
            html`<li key=${i} data-test="trip">
              <${BatchLink} row=${t} /> <${At} t=${t.at} /> ${metresText(t.metres)}${" "}
              <small>${byText(t.by)}</small>
            </li>`,
        )}
      </ul>
      ${got.value.total > got.value.trips.length &&
      html`<p class="soft">${say("ground.newest", got.value.trips.length, got.value.total)}</p>`}
    `}
  </section>`;
}

/**
 * Passing lists the legs that go along one stretch of an aisle.
 * @param {{stretch: import("./walks.js").Stretch, open: (x: SetLeg) => void, close: () => void}} props
 */
export function Passing({ stretch, open, close }) {
  const list = sets.value.flatMap((legs, set) =>
    legs
      .filter((l) => stretch.sets[set] && stretch.sets[set].legs.includes(l.key))
      .map((leg) => ({ set, leg })),
  );
  list.sort((a, b) => b.leg.trips - a.leg.trips);
  return html`<section class="opened" data-test="passing">
    <div class="top"><h2>${say("ground.passing")}</h2><button onClick=${close}>${say("close")}</button></div>
    <ul class="trip-list">
      ${list.map(
        (x) =>
          html`<li key=${x.set + x.leg.key}>
            <button class="quiet" data-test="passing-leg" onClick=${() => open(x)}>
              ${sets.value.length > 1 ? asked.value[x.set].name + ": " : ""}${x.leg.from} → ${x.leg.to}
            </button>${" "}
            ${count("ground.trips", x.leg.trips)}
          </li>`,
      )}
    </ul>
  </section>`;
}
