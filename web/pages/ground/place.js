// What is at one place: what is worked on, what lies there and waits, and what
// waits for its work centre and lies elsewhere.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { boards, inOrder } from "../../lib/board.js";
import { BatchLink, Due, Gone, Mark, Part } from "../../lib/marks.js";
import { failed } from "../../lib/shell.js";
import { reasonText } from "../../lib/shop.js";
import { count, say, stateWord } from "../../lib/words.js";
import { sets } from "./walks.js";

const { about } = boards.ground;

/**
 * @typedef {import("./walks.js").Place} Place
 * @typedef {import("../../lib/_types.js").Schema["WaitsRow"]} Row
 */

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
