// A calendar: its lines, to be read and to be edited.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { calendarBody } from "../../lib/calendar.js";
import { TimeInput } from "../../lib/form.js";
import { note } from "../../lib/shell.js";
import { dateText } from "../../lib/times.js";
import { locale, say } from "../../lib/words.js";
import { Weeks } from "./weeks.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Calendars"]} Calendars
 * @typedef {import("../../lib/_types.js").Schema["Calendar"]} Calendar
 * @typedef {import("../../lib/_types.js").Schema["Turn"]} Turn
 * @typedef {import("../../lib/_types.js").Schema["Day"]} Day
 * @typedef {import("../../lib/_types.js").Schema["Fault"]} Fault
 * @typedef {import("../../lib/calendar.js").Version} Version
 * @typedef {import("../../lib/_types.js").Input} Input
 */

const week = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
/** @param {Turn["kind"]} kind */
const weekly = (kind) => kind === "shift" || kind === "break";

const monday = Date.UTC(2024, 0, 1); // any Monday
/**
 * @param {string} d
 * @param {"short" | "long"} [style]
 */
const dayName = (d, style = "short") =>
  new Intl.DateTimeFormat(locale, { timeZone: "UTC", weekday: style }).format(
    monday + week.indexOf(d) * 86400e3,
  );

/**
 * daysOf reads days such as mon-fri or mon,wed,sat; a range may pass Sunday.
 * @param {string | undefined} text
 */
function daysOf(text) {
  /** @type {Set<string>} */
  const out = new Set();
  for (const part of (text === "daily" ? "mon-sun" : text || "")
    .split(",")
    .map((p) => p.trim().toLowerCase())
    .filter(Boolean)) {
    const [a, b = a] = part.split("-").map((d) => week.indexOf(d.trim().slice(0, 3)));
    if (a < 0 || b < 0) continue;
    for (let i = a; ; i = (i + 1) % 7) {
      out.add(week[i]);
      if (i === b) break;
    }
  }
  return out;
}

/**
 * daysText writes them again, three days and more in a row as a range.
 * @param {Set<string>} days
 */
function daysText(days) {
  const on = week.filter((d) => days.has(d)),
    out = [];
  for (let i = 0; i < on.length; ) {
    let j = i;
    while (j + 1 < on.length && week.indexOf(on[j + 1]) === week.indexOf(on[j]) + 1) j++;
    if (j - i >= 2) out.push(on[i] + "-" + on[j]);
    else out.push(...on.slice(i, j + 1));
    i = j + 1;
  }
  return out.join(",");
}

/**
 * turnText is a line in words.
 * @param {Turn} t
 */
function turnText(t) {
  const when = weekly(t.kind) ? daysInWords(t.days) : dateText(t.date ?? "");
  return `${say("turn." + t.kind)} ${when}${t.kind === "off" ? "" : ` ${t.from}–${t.to}`}`;
}

/** @param {string | undefined} text */
const daysInWords = (text) =>
  daysText(daysOf(text))
    .split(",")
    .map((p) =>
      p
        .split("-")
        .map((d) => dayName(d))
        .join("–"),
    )
    .join(", ");

/**
 * fresh is a new line of a kind.
 * @param {Turn["kind"]} kind
 * @param {string} today
 * @returns {Turn}
 */
function fresh(kind, today) {
  if (weekly(kind))
    return {
      kind,
      days: "mon-fri",
      from: kind === "shift" ? "06:00" : "10:00",
      to: kind === "shift" ? "14:00" : "10:30",
    };
  return kind === "off" ? { kind, date: today } : { kind, date: today, from: "06:00", to: "12:00" };
}

/** @param {{t: Turn, set: (t: Turn) => void}} props */
function Days({ t, set }) {
  const on = daysOf(t.days);
  /** @param {string} d */
  const toggle = (d) => {
    const next = new Set(on);
    if (!next.delete(d)) next.add(d);
    set({ ...t, days: daysText(next) });
  };
  return html`<span class="days" role="group" aria-label=${say("turn.days")}>
    ${week.map(
      (d) =>
        html`<button
          key=${d}
          type="button"
          class="day"
          data-test=${"day-" + d}
          aria-pressed=${on.has(d)}
          aria-label=${dayName(d, "long")}
          onClick=${() => toggle(d)}>
          ${dayName(d)}
        </button>`,
    )}
  </span>`;
}

/**
 * Turn is a line to be edited; fault is what is wrong with it.
 * @param {{t: Turn, i: number, set: (t: Turn) => void, remove: () => void, fault: Fault | null}} props
 */
function Turn({ t, i, set, remove, fault }) {
  const bad = (/** @type {string} */ field) => (fault && fault.field === field ? "true" : undefined);
  const time = (/** @type {"from" | "to"} */ field) =>
    html`<label>
      ${say("turn." + field)}
      <${TimeInput}
        data-test=${"turn-" + field}
        value=${t[field] || ""}
        aria-invalid=${bad(field)}
        set=${(/** @type {string} */ v) => set({ ...t, [field]: v })}
      />
    </label>`;
  return html`<li
    class=${fault ? "turn bad" : "turn"}
    data-test="turn"
    data-kind=${t.kind}
    data-line=${i + 1}>
    <b class="kind">${say("turn." + t.kind)}</b>
    ${weekly(t.kind)
      ? html`<${Days} t=${t} set=${set} />`
      : html`<label>
          ${say("turn.date")}
          <input
            type="date"
            data-test="turn-date"
            value=${t.date || ""}
            aria-invalid=${bad("date")}
            onInput=${(/** @type {Input} */ e) => set({ ...t, date: e.target.value })}
          />
        </label>`}
    ${t.kind !== "off" && html`${time("from")}${time("to")}`}
    ${t.kind !== "off" &&
    t.from &&
    t.to &&
    t.to <= t.from &&
    html`<span class="hint">${say("turn.next-day")}</span>`}
    <button
      type="button"
      class="quiet"
      data-test="turn-remove"
      aria-label=${say("calendars.remove")}
      onClick=${remove}>
      ${say("remove")}
    </button>
    ${fault &&
    html`<p class="problem" role="alert" data-test="turn-fault">
      ${say("calendars.fault", i + 1, fault.text)}
    </p>`}
  </li>`;
}

/**
 * Turns are lines to be read.
 * @param {{turns: Turn[]}} props
 */
export const Turns = ({ turns }) =>
  html`<ul class="turns" data-test="turns">
    ${turns.map((t, i) => html`<li key=${i}>${turnText(t)}</li>`)}
  </ul>`;

// Editing a calendar: its lines, what they come to (asked of the server while
// they change), from when they hold.

const kinds = /** @type {const} */ (["shift", "break", "off", "overtime"]);
const patience = 300; // ms of no typing before the server is asked

/**
 * @param {string} from
 * @param {string} today
 */
export const fromText = (from, today) => (from && from > today ? dateText(from) : say("calendars.now"));

/**
 * useDryRun asks what a calendar would come to.
 * @param {Version} c
 * @param {string} from
 * @param {string} today
 */
function useDryRun(c, from, today) {
  const came = useSignal({
    days: /** @type {Day[]} */ ([]),
    fault: /** @type {Fault | null} */ (null),
    problem: "",
  });
  const asked = JSON.stringify([c, from]);
  useEffect(() => {
    let mine = true;
    const t = setTimeout(async () => {
      try {
        const a = await post(
          "/api/v1/calendars",
          calendarBody({ ...c, calendar: c.calendar || "?" }, from, today, { dry: true }),
        );
        const { days, fault } = /** @type {Calendar} */ (a);
        if (mine) came.value = { days, fault: fault || null, problem: "" };
      } catch (err) {
        if (mine) came.value = { days: [], fault: null, problem: /** @type {Error} */ (err).message };
      }
    }, patience);
    return () => {
      mine = false;
      clearTimeout(t);
    };
  }, [asked]);
  return came;
}

/** @param {{c: Version, set: (c: Version) => void, isNew?: boolean}} props */
function Head({ c, set, isNew }) {
  if (!isNew) return null;
  return html`<div class="tools">
    <label>
      ${say("calendars.name")}
      <input
        data-test="calendar-name"
        required
        maxlength="60"
        value=${c.calendar}
        onInput=${(/** @type {Input} */ e) => set({ ...c, calendar: e.target.value })}
      />
    </label>
    <label>
      ${say("calendars.zone")}
      <input
        data-test="calendar-zone"
        value=${c.zone}
        onInput=${(/** @type {Input} */ e) => set({ ...c, zone: e.target.value.trim() })}
      />
    </label>
  </div>`;
}

/**
 * Editor edits what it is given: {calendar, zone, turns, from}. done is called
 * with the server's answer, or with nothing when it was left.
 * @param {{given: Version, isNew?: boolean, today: string, done: (a?: Calendars) => void}} props
 */
export function Editor({ given, isNew, today, done }) {
  const c = useSignal(
      /** @type {Version} */ ({ calendar: given.calendar, zone: given.zone, turns: given.turns }),
    ),
    from = useSignal(given.from || today);
  const problem = useSignal(""),
    busy = useSignal(false),
    came = useDryRun(c.value, from.value, today),
    fault = came.value.fault;
  const turns = (/** @type {(turns: Turn[]) => Turn[]} */ f) => {
    c.value = { ...c.value, turns: f(c.value.turns) };
  };
  const save = async (/** @type {Event} */ e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    problem.value = "";
    try {
      const a = await post(
        "/api/v1/calendars",
        calendarBody({ ...c.value, calendar: c.value.calendar.trim() }, from.value, today),
      );
      note("good", say("calendars.saved", c.value.calendar, fromText(from.value, today)));
      done(/** @type {Calendars} */ (a));
    } catch (err) {
      problem.value = /** @type {Error} */ (err).message;
    } finally {
      busy.value = false;
    }
  };
  return html`<form class="calendar-edit" data-test="calendar-edit" onSubmit=${save}>
    <${Head}
      c=${c.value}
      isNew=${isNew}
      set=${(/** @type {Version} */ v) => {
        c.value = v;
      }}
    />
    <h3>${say("calendars.lines")}</h3>
    <ol class="edit-turns">
      ${c.value.turns.map(
        (t, i) => html`<${Turn}
          key=${i}
          t=${t}
          i=${i}
          fault=${fault && fault.turn === i ? fault : null}
          set=${(/** @type {Turn} */ v) => turns((l) => l.map((x, j) => (j === i ? v : x)))}
          remove=${() => turns((l) => l.filter((_, j) => j !== i))}
        />`,
      )}
    </ol>
    <p class="deeds">
      ${kinds.map(
        (k) =>
          html`<button
            key=${k}
            type="button"
            data-test=${"add-" + k}
            onClick=${() => turns((l) => [...l, fresh(k, today)])}>
            ${say("calendars.add." + k)}
          </button>`,
      )}
    </p>
    ${fault &&
    fault.turn < 0 &&
    html`<p class="problem" role="alert" data-test="calendar-fault">${fault.text}</p>`}
    ${(problem.value || came.value.problem) &&
    html`<p class="problem" role="alert" data-test="problem">${problem.value || came.value.problem}</p>`}
    <div class="tools">
      <label>
        ${say("calendars.from")}
        <input
          type="date"
          data-test="calendar-from"
          min=${today}
          value=${from.value}
          onInput=${(/** @type {Input} */ e) => {
            from.value = e.target.value || today;
          }}
        />
      </label>
      <span class="deeds">
        <button class="act" type="submit" disabled=${busy.value || Boolean(fault)} data-test="calendar-save">
          ${say("calendars.save", fromText(from.value, today))}
        </button>
        <button type="button" data-test="calendar-leave" onClick=${() => done()}>${say("leave")}</button>
      </span>
    </div>
    ${came.value.days.length > 0 &&
    html`
      <h3>
        ${from.value > today ? say("calendars.preview-from", dateText(from.value)) : say("calendars.preview")}
        <span class="soft"> ${say("calendars.unsaved")}</span>
      </h3>
      <${Weeks} days=${came.value.days} zone=${c.value.zone} />
    `}
  </form>`;
}
