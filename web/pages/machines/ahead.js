// What is ahead of the machines: their load, and when batches may be done.
import { html } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { BatchLink, Hint, Mark } from "../../lib/marks.js";
import { hours, wholePercent } from "../../lib/numbers.js";
import { ticks } from "../../lib/strip.js";
import { dateText, dayOf, fromLocal, span, tickText } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";

// When each batch on the floor may be done, against the date it is due: marks on
// one scale of time.

const ms = (t) => Date.parse(t);
const endOfDay = (d) => fromLocal(d + "T23:59:59");
const due = (b) => (b.due ? endOfDay(b.due) : Infinity);

// rangeOf is the scale that all rows share: from now to the last date of all.
function rangeOf(list, now) {
  const last = Math.max(now + 86400e3, ...list.flatMap((b) => [ms(b.cautious), b.due ? due(b) : 0]));
  return { from: now, to: last };
}

function Line({ b, range }) {
  const at = (t) =>
    `${(100 * Math.min(1, Math.max(0, (t - range.from) / (range.to - range.from)))).toFixed(2)}%`;
  const label = say(
    "machines.dates.label",
    dateText(dayOf(b.likely)),
    dateText(dayOf(b.cautious)),
    b.due ? dateText(b.due) : say("due.none"),
  );
  return html`<svg class="dates" role="img" aria-label=${label} width="100%" height="24">
    <title>${label}</title>
    <line class="axis" x1="0" x2="100%" y1="14" y2="14" />
    <line class="range" x1=${at(ms(b.likely))} x2=${at(ms(b.cautious))} y1="14" y2="14" />
    ${b.due &&
    html`<svg x=${at(due(b))} y="14" overflow="visible">
      <path class="due-mark" d="M0 9V-13M-5 -13H5L0 -6Z" />
    </svg>`}
    <svg x=${at(ms(b.cautious))} y="14" overflow="visible"><circle class="cautious" r="5" /></svg>
    <svg x=${at(ms(b.likely))} y="14" overflow="visible"><circle class="likely" r="5" /></svg>
  </svg>`;
}

function Ticks({ range }) {
  const { list } = ticks(range.from, range.to, 6),
    at = (t) => `${(100 * (t - range.from)) / (range.to - range.from)}%`;
  return html`<svg class="date-ticks" width="100%" height="16" aria-hidden="true">
    ${list.map(
      (t, i) =>
        html`<text
          key=${t}
          class=${i % 2 ? "odd" : ""}
          x=${at(t)}
          y="12"
          text-anchor=${t - range.from < 0.08 * (range.to - range.from)
            ? "start"
            : t - range.from > 0.92 * (range.to - range.from)
              ? "end"
              : "middle"}>
          ${tickText(t, true)}
        </text>`,
    )}
  </svg>`;
}

function Late({ b, now }) {
  if (b.due && due(b) < now) return html`<${Mark} kind="late">${say("machines.late.now")}<//>`;
  if (b.late === "likely") return html`<${Mark} kind="soon">${say("machines.late.likely")}<//>`;
  return b.late === "cautious" ? html`<${Hint}>${say("machines.late.cautious")}<//>` : null;
}

function Row({ b, range, now }) {
  const date = (t) => dateText(dayOf(t));
  return html`<tr data-test="date-row" data-card=${b.card} data-late=${b.late}>
    <td data-label=${say("head.batch")}>
      <${BatchLink} row=${b} />
      ${b.state === "held" && html` <${Mark} kind="held">${say("state.held")}<//>`}
    </td>
    <td data-label=${say("head.part")}>
      <span class="unbroken">${b.part}</span> <small>${b.part_name}</small>
    </td>
    <td data-label=${say("machines.left")}>
      ${b.steps === 0
        ? html`${say("machines.left.none")} <small>${say("machines.left.none.why")}</small>`
        : html`
            ${span(b.work_s * 1000)}${" "}
            <small>
              ${count("machines.steps", b.steps)}
              ${b.next_operation ? ", " + say("machines.next", b.next_operation) : ""}
            </small>
          `}
    </td>
    <td class="unbroken" data-label=${say("head.due")}>${b.due ? dateText(b.due) : say("due.none")}</td>
    <td data-label=${say("machines.likely")} data-test="likely">
      ${b.steps === 0 ? say("none") : html`<b>${date(b.likely)}</b>`}
      ${b.no_waits && html` <small>${say("machines.no-waits")}</small>`}
    </td>
    <td data-label=${say("machines.cautious")} data-test="cautious">
      ${b.steps === 0 ? say("none") : date(b.cautious)}
    </td>
    <td class="wide"><${Line} b=${b} range=${range} /></td>
    <td class="late-cell"><${Late} b=${b} now=${now} /></td>
  </tr>`;
}

const csvHead = [
  "card",
  "works_order",
  "part",
  "due",
  "priority",
  "state",
  "steps_left",
  "work_s",
  "likely",
  "cautious",
  "late",
  "no_waits",
];
const csvRow = (b) => [
  b.card,
  b.works_order,
  b.part,
  b.due,
  b.priority,
  b.state,
  b.steps,
  b.work_s,
  b.likely,
  b.cautious,
  b.late,
  b.no_waits,
];

const fits = (b, text) =>
  !text ||
  [b.card, b.works_order, b.part, b.part_name].some((x) => x && x.toLowerCase().includes(text.toLowerCase()));

// Dates lists the batches by their due dates.
function Dates({ l }) {
  if (l.batches.length === 0) return null;
  const now = ms(l.at),
    { find = "" } = chosen.value,
    all = [...l.batches].sort((a, b) => due(a) - due(b) || ms(a.likely) - ms(b.likely));
  const list = all.filter((b) => fits(b, find)),
    range = rangeOf(list, now),
    n = (k) => all.filter((b) => b.late === k).length;
  return html`<section data-test="dates-section">
    <h2>${say("machines.dates")}</h2>
    <p class="summary" data-test="dates-summary">
      ${[
        count("machines.dates.n", all.length),
        count("machines.dates.likely", n("likely")),
        count("machines.dates.cautious", n("cautious")),
      ].join(" · ")}
    </p>
    <div class="tools">
      <label>
        ${say("waits.find")}
        <input
          type="search"
          value=${find}
          data-test="find"
          onInput=${(e) => choose({ find: e.target.value }, { replace: true })}
        />
      </label>
    </div>
    <p class="line-key">
      ${["likely", "cautious", "due-mark"].map(
        (k) =>
          html`<span key=${k}>
            <svg class="dates" width="20" height="24" aria-hidden="true">
              <g transform="translate(10 14)">
                ${k === "due-mark"
                  ? html`<path class=${k} d="M0 9V-13M-5 -13H5L0 -6Z" />`
                  : html`<circle class=${k} r="5" />`}
              </g>
            </svg>
            ${say("machines.key." + k)}
          </span>`,
      )}
    </p>
    ${list.length === 0
      ? html`<p class="empty">${say("waits.nothing-found")}</p>`
      : html`<table class="dates-table stack">
          <thead>
            <tr>
              ${[
                "head.batch",
                "head.part",
                "machines.left",
                "head.due",
                "machines.likely",
                "machines.cautious",
              ].map((k) => html`<th key=${k}>${say(k)}</th>`)}
              <th class="wide"><${Ticks} range=${range} /></th>
              <td></td>
            </tr>
          </thead>
          <tbody>${list.map((b) => html`<${Row} key=${b.card} b=${b} range=${range} now=${now} />`)}</tbody>
        </table>`}
    <p class="deeds"><${CsvButton} name="dates-ahead" head=${csvHead} rows=${() => all.map(csvRow)} /></p>
  </section>`;
}

// What is ahead: hours by work centre and week, and when each batch on the floor
// may be done.

// Cell is the planned hours of a week against what its calendar still opens.
function Cell({ w }) {
  const share = w.open_s > 0 ? w.load_s / w.open_s : null,
    over = share === null ? w.load_s > 0 : share >= 1.005,
    label =
      w.load_s > 0
        ? say("machines.load.of", hours(w.load_s), hours(w.open_s))
        : say("machines.load.free", hours(w.open_s));
  return html`<td
    class="load"
    data-test="load"
    data-centre=${w.work_centre}
    data-week=${w.week}
    data-over=${over ? "1" : "0"}
    data-label=${dateText(w.week)}>
    <svg class="share" role="img" aria-label=${label} width="100%" height="14">
      <title>${label}</title>
      <rect class="whole" x="0" y="1" width="100%" height="12" />
      <rect
        class=${over ? "over" : "part"}
        x="0"
        y="1"
        width=${`${100 * Math.min(1, share ?? 1)}%`}
        height="12"
      />
    </svg>
    <small>${w.load_s > 0 || w.open_s > 0 ? label : say("machines.closed")}</small>${" "}
    ${over
      ? html`<b>${share === null ? say("machines.closed") : say("machines.over", wholePercent(share))}</b>`
      : html`<small>${share === null || share < 0.005 ? "" : "· " + wholePercent(share)}</small>`}
  </td>`;
}

function Grid({ l }) {
  const weeks = [...new Set(l.weeks.map((w) => w.week))],
    of = (c) => l.weeks.filter((w) => w.work_centre === c);
  const centres = [...new Set(l.weeks.map((w) => w.work_centre))],
    busy = centres.filter((c) => of(c).some((w) => w.load_s > 0)),
    idle = centres.filter((c) => !busy.includes(c));
  if (busy.length === 0)
    return html`<p class="empty" data-test="no-load">
      ${say(l.batches.length ? "machines.load.done" : "machines.load.none")}
    </p>`;
  return html`
    <table class="load-grid stack">
      <thead>
        <tr>
          <th>${say("pace.by.centre")}</th>
          ${weeks.map(
            (w, i) =>
              html`<th key=${w}>
                ${i === 0 ? say("machines.this-week") : say("machines.week", dateText(w))}
              </th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${busy.map(
          (c) =>
            html`<tr key=${c} data-test="load-centre" data-centre=${c}>
              <th scope="row">${c}</th>
              ${of(c).map((w) => html`<${Cell} key=${w.week} w=${w} />`)}
            </tr>`,
        )}
      </tbody>
    </table>
    <p class="soft">
      ${say("machines.load.how")} ${idle.length > 0 ? say("machines.load.idle", idle.join(", ")) : ""}
    </p>
  `;
}

// Rests is what the dates rest on: this shop's own waits.
function Rests({ l }) {
  const list = l.waits.filter((w) => w.n > 0),
    days = (s) => span(s * 1000);
  return html`<section>
    <details data-test="waits">
      <summary><span>${say("machines.rests", l.days)}</span></summary>
      ${list.length === 0
        ? html`<p>${say("machines.rests.none")}</p>`
        : html`<table>
            <thead>
              <tr>
                <th>${say("pace.by.centre")}</th>
                <th class="n">${say("machines.waits.n")}</th>
                <th class="n">P50</th>
                <th class="n">P85</th>
              </tr>
            </thead>
            <tbody>
              ${list.map(
                (w) =>
                  html`<tr key=${w.work_centre}>
                    <th scope="row">${w.work_centre}</th>
                    <td class="n">${w.n}</td>
                    <td class="n">${days(w.p50_s)}</td>
                    <td class="n">${days(w.p85_s)}</td>
                  </tr>`,
              )}
            </tbody>
          </table>`}
      <p class="soft">${say("machines.rests.how")}</p>
      <p class="deeds">
        <${CsvButton}
          name="waits-by-work-centre"
          head=${["work_centre", "n", "p50_s", "p85_s"]}
          rows=${() => l.waits.map((w) => [w.work_centre, w.n, w.p50_s, w.p85_s])}
        />
      </p>
    </details>
  </section>`;
}

const spans = ["4", "8", "12", "26"];

export function Ahead() {
  const { weeks = "4" } = chosen.value,
    answer = useAnswer("/api/v1/load?weeks=" + encodeURIComponent(weeks)),
    l = answer.value;
  return html`
    <div class="tools">
      <label>
        ${say("machines.weeks")}
        <select data-test="weeks" onChange=${(e) => choose({ weeks: e.target.value })}>
          ${[...new Set([...spans, weeks])].map(
            (n) => html`<option key=${n} value=${n} selected=${n === weeks}>${n}</option>`,
          )}
        </select>
      </label>
    </div>
    <${Answered} answer=${answer} />
    ${l &&
    html`
      <p class="notice" data-test="cautions">${say("machines.cautions")}</p>
      <section data-test="load-section">
        <h2>${say("machines.load")}</h2>
        <${Grid} l=${l} />
        <p class="deeds">
          <${CsvButton}
            name="load"
            head=${["work_centre", "week", "load_s", "open_s", "machines", "operations"]}
            rows=${() =>
              l.weeks.map((w) => [w.work_centre, w.week, w.load_s, w.open_s, w.machines, w.batches])}
          />
        </p>
      </section>
      <${Dates} l=${l} />
      <${Rests} l=${l} />
    `}
  `;
}
