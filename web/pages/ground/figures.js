// What the walks of the choice come to, as figures with what they rest on; two
// routes stand side by side. And the key to the map.
import { html } from "../../lib/vendor/ui.js";
import { conditions, needWord } from "../../lib/needs.js";
import { count, say, stateWord } from "../../lib/words.js";
import { isNeedy, markSize, NeedShape, states, StateShape } from "./map.js";
import { asked, mostTrips, sets, stretches, thickness, wrong } from "./walks.js";

/**
 * @typedef {import("./walks.js").Walked} Walked
 */

const few = 5; // batches; fewer say nothing about a route

/**
 * metresText is a length as people say it; small ones to the decimetre.
 * @param {number | null | undefined} m
 */
export const metresText = (m) =>
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
