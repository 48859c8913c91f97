// What the walks come to, from place to place, and what is at a place.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { boards, inOrder } from "../../lib/board.js";
import { CsvButton } from "../../lib/csv.js";
import { At, BatchLink, Due, Gone, Mark, Part } from "../../lib/marks.js";
import { conditions, needWord } from "../../lib/needs.js";
import { failed } from "../../lib/shell.js";
import { reasonText } from "../../lib/shop.js";
import { count, say, stateWord } from "../../lib/words.js";
import { isNeedy, markSize, NeedShape, states, StateShape } from "./map.js";
import { asked, mostTrips, sets, stretches, thickness, wrong } from "./walks.js";

const { about } = boards.ground;

/**
 * @typedef {import("./walks.js").Place} Place
 * @typedef {import("./walks.js").Walked} Walked
 * @typedef {import("./walks.js").SetLeg} SetLeg
 * @typedef {import("../../lib/types.js").Schema["WaitsRow"]} Row
 */

// What the walks of the choice come to, as figures with what they rest on; two
// routes stand side by side. And the key to the map.

const few = 5; // batches; fewer say nothing about a route

/**
 * metresText is a length as people say it; small ones to the decimetre.
 * @param {number | null | undefined} m
 */
const metresText = (m) =>
  m === null || m === undefined
    ? say("none")
    : say("m", m >= 1e5 ? Math.round(m / 1000) + " k" : m >= 100 ? Math.round(m) : Math.round(m * 10) / 10);
/** @param {number | null | undefined} n */
const number = (n) =>
  n === null || n === undefined ? say("none") : n >= 10 ? Math.round(n * 10) / 10 : Math.round(n * 100) / 100;

/**
 * partText is the trips that join one kind of place, and their metres.
 * @param {Walked["parts"]} parts
 * @param {"stores" | "dock" | "outside"} kind
 */
const partText = (parts, kind) =>
  count(
    "ground.of-it",
    parts[/** @type {const} */ (`${kind}_trips`)],
    metresText(parts[/** @type {const} */ (`${kind}_m`)]),
  );

/** @type {[string, (f: Walked) => string | number][]} */
const lines = [
  ["batches", (f) => f.batches],
  ["trips", (f) => f.trips],
  ["metres", (f) => metresText(f.metres)],
  ["stores", (f) => partText(f.parts, "stores")],
  ["dock", (f) => partText(f.parts, "dock")],
  ["outside", (f) => partText(f.parts, "outside")],
  ["trips_per_batch", (f) => number(f.trips_per_batch)],
  ["metres_per_batch", (f) => metresText(f.metres_per_batch)],
  ["metres_per_good", (f) => metresText(f.metres_per_good)],
  ["trips_per_good", (f) => number(f.trips_per_good)],
];

/**
 * along says in words what the lengths were measured along.
 * @param {Walked} f
 */
function along(f) {
  if (f.trips === 0) return "";
  if (f.rectangular === 0) return say("ground.by.aisles");
  if (f.rectangular === f.trips) return say("ground.by.rectangular");
  return count("ground.by.some", f.rectangular, f.trips);
}

/** @param {{a: import("./walks.js").Asked}} props */
function Rests({ a }) {
  const f = a.figures;
  return html`<p class="soft" data-test="rests">
    ${a.name && html`<b>${a.name}: </b>`}${count("ground.rests", f.batches)}${" "}
    ${f.batches > 0 && f.batches < few && asked.value.length > 1 ? say("ground.few", few) : ""}
    ${f.good > 0 ? count("ground.good-of", f.ended, f.good) : say("ground.no-good")}${" "}
    <span data-test="along">${along(f)}</span>
  </p>`;
}

/**
 * LineSample shows how the lines of a set look.
 * @param {{set: number}} props
 */
const LineSample = ({ set }) =>
  html`<svg class="sample" viewBox="0 0 40 12" aria-hidden="true">
    <g class=${sets.value.length > 1 ? "walks two" : "walks"}>
      <g class=${"walk set" + set}><line x1="3" y1="6" x2="37" y2="6" stroke-width="4" /></g>
    </g>
  </svg>`;

export function Figures() {
  const list = asked.value;
  if (wrong.value) return html`<p class="problem" role="alert" data-test="problem">${wrong.value}</p>`;
  if (list.length === 0)
    return html`<p class="soft" data-test="no-figures">${say("ground.choose-first")}</p>`;
  return html`
    <table class="figures" data-test="figures">
      ${list.length > 1 &&
      html`<thead>
        <tr>
          <td></td>
          ${list.map(
            (a, i) => html`<th key=${i} class="n" scope="col"><${LineSample} set=${i} /> ${a.name}</th>`,
          )}
        </tr>
      </thead>`}
      <tbody>
        ${lines.map(
          ([k, of]) =>
            html`<tr key=${k}>
              <th scope="row">${say("ground.figure." + k)}</th>
              ${list.map(
                (a, i) =>
                  html`<td key=${i} class="n" data-test=${"figure-" + k} data-route=${i}>
                    ${of(a.figures)}
                  </td>`,
              )}
            </tr>`,
        )}
      </tbody>
    </table>
    ${list.map((a, i) => html`<${Rests} key=${i} a=${a} />`)}
    <p class="soft">${say("ground.lengths")}</p>
  `;
}

// Key says what the marks and lines mean.
export function Key() {
  const most = mostTrips(stretches(sets.value));
  const steps = [...new Set([1, Math.ceil(most / 2), most])];
  return html`<details class="key" data-test="key">
    <summary>${say("ground.key")}</summary>
    <ul>
      ${states.map(
        (s) =>
          html`<li key=${s}>
            <svg class="sample square" viewBox="-12 -12 24 24" aria-hidden="true">
              <g class=${"mark-of" + (isNeedy(s) ? " needs" : "")}>
                <rect x=${-markSize} y=${-markSize} width=${2 * markSize} height=${2 * markSize} />
                <${StateShape} state=${s} />
              </g>
            </svg>${" "}
            ${s === "free" ? say("machine.free") : stateWord(s)}
          </li>`,
      )}
      ${conditions
        .filter((k) => k !== "stop")
        .map(
          (k) =>
            html`<li key=${k} data-test="key-need">
              <svg class="sample square" viewBox="-12 -12 24 24" aria-hidden="true">
                <g class="mark-of">
                  <g class="badge">
                    <rect x="-8" y="-8" width="16" height="16" />
                    <${NeedShape} kind=${k} size=${12} at=${[0, 0]} />
                  </g>
                </g>
              </svg>${" "}
              ${needWord(k)}
            </li>`,
        )}
      ${steps.map(
        (n) =>
          html`<li key=${n} data-test="key-trips">
            <svg class="sample" viewBox="0 0 40 16" aria-hidden="true">
              <g class="walks">
                <g class="walk set0">
                  <line x1="2" y1="8" x2="38" y2="8" stroke-width=${thickness(n, most)} />
                </g>
              </g>
            </svg>${" "}
            ${count("ground.trips", n)}
          </li>`,
      )}
    </ul>
    <p class="soft">${say("ground.right-hand")}</p>
  </details>`;
}

// The legs of the walks as a table, and the trips behind one leg.

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
  const got = useSignal(/** @type {import("../../lib/types.js").Schema["Trips"] | null} */ (null));
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

// What is at one place: what is worked on, what lies there and waits, and what
// waits for its work centre and lies elsewhere.

/**
 * lies is where a batch that waits lies, as far as someone said so; what was
 * never carried lies in the stores, where there are any.
 * @param {Row} r
 * @param {Place[]} places
 */
function lies(r, places) {
  if (r.arrived && r.machine) return r.machine;
  if (r.place) return r.place;
  const stores = places.find((p) => p.place_kind === "stores");
  return stores ? stores.machine : "";
}

/** @param {{r: Row, today: string, where?: string}} props */
function Line({ r, today, where }) {
  return html`<li
    data-test=${where ? "elsewhere" : r.kind === "work" ? "at-work" : "lies-here"}
    data-card=${r.card}>
    <${BatchLink} row=${r} short /> <${Part} row=${r} />
    <span>${say("operation.of", r.operation)}, ${count("pieces", r.pieces)}</span>
    <span>
      ${stateWord(r.state)} <b><${Gone} since=${r.since} /></b>${where ? " " + say("at.machine", where) : ""}
    </span>
    ${r.state === "stopped" &&
    html`<${Mark} kind="stop">${reasonText(r.reason, "stop") || say("stop.unsaid")}<//>`}
    ${r.state === "held" && html`<${Mark} kind="held">${reasonText(r.reason) || say("state.held")}<//>`}
    ${r.due && html`<${Due} due=${r.due} today=${today} late=${r.late} />`}
  </li>`;
}

/** @param {{title: string, rows: Row[], today: string, where?: (r: Row) => string}} props */
const List = ({ title, rows, today, where }) =>
  rows.length === 0
    ? null
    : html`
        <h3>${title}</h3>
        <ul class="place-list">
          ${rows.map((r) => html`<${Line} key=${r.key} r=${r} today=${today} where=${where && where(r)} />`)}
        </ul>
      `;

/** @param {{p: Place}} props */
function Carried({ p }) {
  const sum = (/** @type {"from" | "to"} */ side) =>
    sets.value
      .flat()
      .filter((l) => l[side] === p.machine)
      .reduce((n, l) => n + l.trips, 0);
  return html`<p class="soft">${say("ground.carried", sum("to"), sum("from"))}</p>`;
}

/** @param {{p: Place, places: Place[], close: () => void}} props */
export function PlaceDetails({ p, places, close }) {
  const waits = useSignal(/** @type {Row[] | null} */ (null));
  useEffect(() => {
    get("/api/v1/waits").then((a) => {
      waits.value = Object.values(a.rows);
    }, failed);
  }, [p]);
  const all = waits.value || [],
    today = about.value?.today ?? "";
  const here = all.filter((r) => r.kind === "wait" && lies(r, places) === p.machine);
  const works = all.filter((r) => r.kind === "work" && r.machine === p.machine);
  const elsewhere = all.filter(
    (r) => r.kind === "wait" && r.work_centre === p.work_centre && lies(r, places) !== p.machine,
  );
  return html`<section class="opened" data-test="place-details" data-place=${p.machine}>
    <div class="top">
      <h2>${p.machine} <span class="soft">${p.name}</span></h2>
      <button data-test="close-place" onClick=${close}>${say("close")}</button>
    </div>
    <p class="soft">${p.work_centre}</p>
    ${waits.value &&
    works.length + here.length + elsewhere.length === 0 &&
    html`<p>${say("ground.nothing-here")}</p>`}
    <${List} title=${say("ground.at-work")} rows=${works} today=${today} />
    <${List} title=${count("ground.lies", here.length)} rows=${inOrder(here)} today=${today} />
    <${List}
      title=${say("ground.elsewhere", p.work_centre)}
      rows=${inOrder(elsewhere).slice(0, 20)}
      today=${today}
      where=${(/** @type {Row} */ r) => lies(r, places) || say("ground.nowhere")}
    />
    ${elsewhere.length > 20 && html`<p class="soft">${say("ground.first", 20, elsewhere.length)}</p>`}
    <${Carried} p=${p} />
  </section>`;
}
