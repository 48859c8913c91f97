// One line of the waits board: a batch that waits, or a machine at work, in the same
// columns.
import { html, useComputed } from "../../lib/vendor/ui.js";
import { boards, openAt, worked } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { BatchLink, Gone, Hint, Hot, Needs, Part, Short } from "../../lib/marks.js";
import { needsOf, needText } from "../../lib/needs.js";
import { OrderButton } from "../../lib/order.js";
import { needsThings, ReadyButton } from "../../lib/ready.js";
import { dateText, elapsed, moment } from "../../lib/times.js";
import { beyondMarks, why } from "../../lib/why.js";
import { say, stateWord } from "../../lib/words.js";

const { about } = boards.waits;

/**
 * @typedef {import("../../lib/_types.js").Schema["WaitsRow"]} Row
 * @typedef {import("../../lib/_types.js").Schema["Centre"] & {waits: Row[], works: Row[]}} Centre
 */

export const columns = ["batch", "part", "operation", "pieces", "waiting", "due", "why"];

/**
 * Worked is how much of a wait lay in the work centre's working time.
 * @param {{row: Row}} props
 */
function Worked({ row }) {
  const ms = useComputed(() => worked(row.work_centre, Date.parse(row.since), tick.value));
  return ms.value === null
    ? null
    : html`<small data-test="worked">${say("worked", elapsed(ms.value))}</small>`;
}

/**
 * Waited is how long a batch has waited, or a machine been at what it is at.
 * @param {{row: Row}} props
 */
const Waited = ({ row }) => html`
  <b data-test="waited"><${Gone} since=${row.since} /></b>${" "}
  ${row.kind === "wait" ? html`<${Worked} row=${row} />` : html`<small>${stateWord(row.state)}</small>`}
`;

/**
 * At what its machine is, and until when, where it works; else why it waits.
 * @param {{row: Row, minute: number}} props
 */
function Why({ row, minute }) {
  const text = beyondMarks(why(row, about.value?.lines[row.work_centre], minute), minute).join(", ");
  if (row.kind === "wait")
    return html`<span data-test="why">
      ${row.state === "rework" && html`<${Hint}>${say("state.rework")}<//> `}
      ${text}
      ${row.arrived && row.machine && html` <small>${say("at.machine", row.machine)}</small>`}
    </span>`;
  const ends = row.over_from && Date.parse(row.over_from) > minute && row.state !== "outside";
  return html`<span data-test="why">
    ${row.state !== "outside" && html`<b>${row.machine}</b> `}
    ${text}
    ${row.state === "running" && ends && say("waits.ends", moment(row.over_from))}
    ${row.inferred && html` <${Hint}>${say("inferred.start")}<//>`}
  </span>`;
}

/**
 * Line is a row of the board; centre says that its work centre is to be named.
 * @param {{row: Row, today: string, minute: number, test: string, centre?: boolean}} props
 */
export function Line({ row, today, minute, test, centre }) {
  const cell = (/** @type {string} */ name, /** @type {unknown} */ content) =>
    html`<td class=${"w-" + name} data-label=${say("head." + name)}>${content}</td>`;
  const kinds = needsOf(row, minute);
  return html`<tr
    data-test=${test}
    data-card=${row.card}
    data-machine=${row.machine}
    data-operation=${row.operation}
    data-state=${row.state}
    data-needs=${kinds.join(" ")}>
    ${cell(
      "batch",
      html`${row.hot && html`<${Hot} />`} <${BatchLink} row=${row} /> <${Short} n=${row.short} />`,
    )}
    ${cell("part", html`<${Part} row=${row} />`)}
    ${cell("operation", html`${row.operation}${centre && html` <small>${row.work_centre}</small>`}`)}
    ${cell(
      "pieces",
      row.kind === "wait" || row.state === "outside"
        ? row.pieces
        : html`<span data-test="work-good">${say("of", row.good, row.of)}</span>`,
    )}
    ${cell("waiting", html`<${Waited} row=${row} />`)}
    ${cell(
      "due",
      html`
        ${row.due ? dateText(row.due) : html`<span class="soft">${say("due.none")}</span>`}
        ${row.priority ? html` <${Hint}>${say("priority.is", row.priority)}<//>` : ""}
        ${test === "wait-row" && html`<${OrderButton} card=${row.card} small />`}
      `,
    )}
    ${cell(
      "why",
      html`
        <${Needs} kinds=${kinds} text=${(/** @type {string} */ k) => needText(k, row, today, minute)} />
        <${Why} row=${row} minute=${minute} />
        ${test === "wait-row" &&
        row.state === "waiting" &&
        needsThings(row.work_centre) &&
        html`<${ReadyButton} card=${row.card} operation=${row.operation} small />`}
      `,
    )}
  </tr>`;
}

const kept = ["outside", "stores", "dock"]; // places at which nothing is worked on

/**
 * Idle names the machines of a work centre that nothing is worked on at, and until when
 * they are closed.
 * @param {{c: Centre, minute: number}} props
 */
export function Idle({ c, minute }) {
  const busy = new Set(c.works.filter((r) => r.state !== "outside").map((r) => r.machine));
  const free = c.machines.filter((m) => !busy.has(m.machine) && !kept.includes(m.kind ?? ""));
  if (free.length === 0) return null;
  const open = openAt(c.work_centre, minute);
  return html`<tr class="idle" data-test="machine-idle">
    <td colspan=${columns.length}>
      ${free.map((m) => m.machine).join(", ")}:${" "}
      ${open.open
        ? say("machine.free")
        : open.until
          ? say("why.opens", moment(open.until))
          : say("why.closed")}
    </td>
  </tr>`;
}
