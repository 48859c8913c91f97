// The calendars of the shop, and which of them each machine keeps.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get, post } from "../../lib/api.js";
import { calendarBody, versionOn } from "../../lib/calendar.js";
import { Dialog, TimeInput } from "../../lib/form.js";
import { failed, may, me, note, start } from "../../lib/shell.js";
import { dateText, dayOf } from "../../lib/times.js";
import { say } from "../../lib/words.js";
import { Editor, fromText, Turns } from "./edit.js";
import { Weeks } from "./weeks.js";

/**
 * @typedef {import("./edit.js").Calendars} Calendars
 * @typedef {import("./edit.js").Calendar} Calendar
 * @typedef {import("./edit.js").Version} Version
 * @typedef {Calendars["machines"][number]} Keeper
 * @typedef {Calendar["ahead"][number]} Later a version that holds later
 * @typedef {import("../../lib/_types.js").Input} Input
 */

// Which calendar each machine keeps, and whether it runs unattended.

/** @param {{calendar: string}} k */
const keeps = (k) => k.calendar || say("calendars.always");

/** @param {{m: Keeper, names: string[], today: string, done: (saved: boolean) => void}} props */
function Change({ m, names, today, done }) {
  const v = useSignal({ calendar: m.calendar, unattended: m.unattended, from: today });
  const go = async (/** @type {(text: string) => void} */ problem) => {
    const { from, ...rest } = v.value;
    try {
      await post("/api/v1/machines", { machine: m.machine, ...rest, ...(from > today ? { from } : {}) });
      note("good", say("calendars.machine.saved", m.machine, fromText(from, today)));
      done(true);
    } catch (err) {
      problem(/** @type {Error} */ (err).message);
    }
  };
  return html`<${Dialog}
    title=${`${m.machine} ${m.name}`}
    act=${say("calendars.save", fromText(v.value.from, today))}
    go=${go}
    close=${() => done(false)}>
    <div class="tools">
      <label>
        ${say("calendars.keeps")}
        <select
          data-test="machine-calendar"
          onChange=${(/** @type {Input} */ e) => {
            v.value = { ...v.value, calendar: e.target.value };
          }}>
          ${["", ...names].map(
            (n) =>
              html`<option key=${n} value=${n} selected=${n === v.value.calendar}>
                ${n || say("calendars.always")}
              </option>`,
          )}
        </select>
      </label>
      <label>
        ${say("calendars.from")}
        <input
          type="date"
          data-test="machine-from"
          min=${today}
          value=${v.value.from}
          onInput=${(/** @type {Input} */ e) => {
            v.value = { ...v.value, from: e.target.value || today };
          }}
        />
      </label>
    </div>
    <p>
      <label class="tick">
        <input
          type="checkbox"
          data-test="machine-unattended"
          checked=${v.value.unattended}
          onChange=${(/** @type {Input} */ e) => {
            v.value = { ...v.value, unattended: e.target.checked };
          }}
        />
        <span>${say("calendars.unattended")} <small>${say("calendars.unattended.why")}</small></span>
      </label>
    </p>
  <//>`;
}

/** @param {{m: Keeper, change: (m: Keeper) => void}} props */
function Row({ m, change }) {
  const ahead = m.ahead
    .map((a) =>
      say(
        "calendars.then",
        dateText(dayOf(a.from)),
        `${keeps(a)}, ${say(a.unattended ? "calendars.alone" : "calendars.attended")}`,
      ),
    )
    .join("; ");
  return html`<tr
    data-test="keeper"
    data-machine=${m.machine}
    data-calendar=${m.calendar}
    data-unattended=${String(m.unattended)}>
    <td data-label=${say("head.machine")}><b>${m.machine}</b> <small>${m.name}</small></td>
    <td data-label=${say("screens.centre")}>${m.work_centre}</td>
    <td data-label=${say("calendars.keeps")}>
      ${m.calendar || html`<span class="soft">${say("calendars.always")}</span>`}${" "}
      ${ahead && html`<small data-test="keeper-ahead">${ahead}</small>`}
    </td>
    <td data-label=${say("calendars.unattended")}>${say(m.unattended ? "calendars.yes" : "calendars.no")}</td>
    ${may("plan") &&
    html`<td>
      <button data-test="machine-change" onClick=${() => change(m)}>${say("calendars.edit")} …</button>
    </td>`}
  </tr>`;
}

/** @param {{all: Calendars, after: () => void}} props */
function Keepers({ all, after }) {
  const changing = useSignal(/** @type {Keeper | null} */ (null)),
    names = all.calendars.map((c) => c.calendar);
  if (all.machines.length === 0)
    return html`<p class="empty" data-test="no-machines">${say("home.no-machines")}</p>`;
  return html`<section>
    <h2>${say("calendars.per-machine")}</h2>
    <table class="stack keepers">
      <thead>
        <tr>
          ${["head.machine", "screens.centre", "calendars.keeps", "calendars.unattended"].map(
            (h) => html`<th key=${h} scope="col">${say(h)}</th>`,
          )}
          ${may("plan") && html`<td></td>`}
        </tr>
      </thead>
      <tbody>
        ${all.machines.map(
          (m) =>
            html`<${Row}
              key=${m.machine}
              m=${m}
              change=${(/** @type {Keeper} */ x) => {
                changing.value = x;
              }}
            />`,
        )}
      </tbody>
    </table>
    ${changing.value &&
    html`<${Change}
      m=${changing.value}
      names=${names}
      today=${all.today}
      done=${(/** @type {boolean} */ saved) => {
        changing.value = null;
        if (saved) after();
      }}
    />`}
  </section>`;
}

// One-step changes of a calendar: overtime on a date, a day off.

/**
 * earlier is how far back a day off or overtime may be said afterwards.
 * @param {string} today
 */
const earlier = (today) =>
  new Date(Date.parse(today + "T12:00:00Z") - 60 * 86400e3).toISOString().slice(0, 10);

/** @param {{kind: "overtime" | "off", c: Calendar, today: string, done: (a?: Calendars) => void}} props */
function Step({ kind, c, today, done }) {
  const v = useSignal({ date: today, from: "06:00", to: "12:00" });
  const set = (/** @type {keyof typeof v.value} */ k) => (/** @type {string} */ x) => {
    v.value = { ...v.value, [k]: x };
  };
  const go = async (/** @type {(text: string) => void} */ problem) => {
    const { date, from, to } = v.value,
      version = versionOn(c, date);
    /** @type {import("./edit.js").Turn} */
    const turn = kind === "off" ? { kind, date } : { kind, date, from, to };
    try {
      const a = await post(
        "/api/v1/calendars",
        calendarBody({ ...version, turns: [...version.turns, turn] }, version.from, today),
      );
      note("good", say(`calendars.${kind}.done`, c.calendar, dateText(date), from, to));
      done(/** @type {Calendars} */ (a));
    } catch (err) {
      problem(/** @type {Error} */ (err).message);
    }
  };
  const time = (/** @type {"from" | "to"} */ k) =>
    html`<label>
      ${say("turn." + k)}
      <${TimeInput} required data-test=${"step-" + k} value=${v.value[k]} set=${set(k)} />
    </label>`;
  return html`<${Dialog}
    title=${`${say("calendars." + kind)}: ${c.calendar}`}
    act=${say("calendars." + kind)}
    go=${go}
    close=${() => done()}>
    <div class="tools">
      <label>
        ${say("turn.date")}
        <input
          type="date"
          required
          min=${earlier(today)}
          data-test="step-date"
          value=${v.value.date}
          onInput=${(/** @type {Input} */ e) => set("date")(e.target.value)}
        />
      </label>
      ${kind === "overtime" && html`${time("from")}${time("to")}`}
    </div>
  <//>`;
}

// Working time: the calendars, what they come to, and which machines keep them.
// Planners and administrators change them; others read.

/**
 * Ahead is a version that holds later.
 * @param {{a: Later, edit: (v: Version) => void}} props
 */
function Ahead({ a, edit }) {
  return html`<div class="ahead" data-test="ahead" data-from=${dayOf(a.from)}>
    <p>${say("calendars.ahead", dateText(dayOf(a.from)))}</p>
    <${Turns} turns=${a.turns} />
    ${may("plan") &&
    html`<p class="deeds">
      <button
        data-test="edit-ahead"
        onClick=${() => edit({ calendar: a.calendar, zone: a.zone, turns: a.turns, from: dayOf(a.from) })}>
        ${say("calendars.edit-ahead")} …
      </button>
    </p>`}
  </div>`;
}

/** @param {{c: Calendar, all: Calendars, take: (a: Calendars) => void}} props */
function Calendar({ c, all, take }) {
  const editing = useSignal(/** @type {Version | null} */ (null)),
    step = useSignal(/** @type {"" | "overtime" | "off"} */ (""));
  const done = (/** @type {Calendars | undefined} */ a) => {
    editing.value = null;
    step.value = "";
    if (a) take(a);
  };
  return html`<section class="calendar" data-test="calendar" data-name=${c.calendar}>
    <h2>${c.calendar} <span class="soft">${c.zone}</span></h2>
    <p class="soft">
      ${c.machines.length ? say("calendars.kept", c.machines.join(", ")) : say("calendars.kept-by-none")}
      ${c.since && " " + say("calendars.since", dateText(dayOf(c.since)))}
    </p>
    ${editing.value
      ? html`<${Editor} given=${editing.value} today=${all.today} done=${done} />`
      : html`<div class="calendar-read">
          <div>
            <${Turns} turns=${c.turns} />
            ${may("plan") &&
            html`<p class="deeds">
              <button
                data-test="edit"
                onClick=${() => {
                  editing.value = { calendar: c.calendar, zone: c.zone, turns: c.turns };
                }}>
                ${say("calendars.edit")} …
              </button>
              <button
                data-test="overtime"
                onClick=${() => {
                  step.value = "overtime";
                }}>
                ${say("calendars.overtime")} …
              </button>
              <button
                data-test="off"
                onClick=${() => {
                  step.value = "off";
                }}>
                ${say("calendars.off")} …
              </button>
            </p>`}
            ${c.ahead.map(
              (a) =>
                html`<${Ahead}
                  key=${a.from}
                  a=${a}
                  edit=${(/** @type {Version} */ v) => {
                    editing.value = v;
                  }}
                />`,
            )}
          </div>
          <div><h3>${say("calendars.preview")}</h3><${Weeks} days=${c.days} zone=${c.zone} /></div>
        </div>`}
    ${step.value && html`<${Step} kind=${step.value} c=${c} today=${all.today} done=${done} />`}
  </section>`;
}

/** @param {{all: Calendars, take: (a: Calendars) => void}} props */
function New({ all, take }) {
  const open = useSignal(false);
  if (!may("plan")) return html`<p class="soft">${say("calendars.read")}</p>`;
  if (!open.value)
    return html`<p class="deeds">
      <button
        data-test="calendar-new"
        onClick=${() => {
          open.value = true;
        }}>
        ${say("calendars.new")} …
      </button>
    </p>`;
  const zone = all.zone || Intl.DateTimeFormat().resolvedOptions().timeZone;
  return html`<section class="calendar">
    <h2>${say("calendars.new")}</h2>
    <${Editor}
      isNew
      given=${{ calendar: "", zone, turns: [{ kind: "shift", days: "mon-fri", from: "06:00", to: "14:00" }] }}
      today=${all.today}
      done=${(/** @type {Calendars | undefined} */ a) => {
        open.value = false;
        if (a) take(a);
      }}
    />
  </section>`;
}

function CalendarsPage() {
  const all = useSignal(/** @type {Calendars | null} */ (null));
  const load = () =>
    get("/api/v1/calendars")
      .then((a) => {
        all.value = a;
      })
      .catch(failed);
  useEffect(() => {
    load();
  }, []);
  if (!all.value) return html`<h1>${say("calendars.title")}</h1><p class="soft">${say("loading")}</p>`;
  const take = (/** @type {Calendars} */ a) => {
    all.value = a;
  };
  return html`
    <h1>${say("calendars.title")}</h1>
    <p class="soft">${say("calendars.how")}</p>
    ${all.value.calendars.length === 0 &&
    html`<p class="empty" data-test="calendars-none">${say("calendars.none")}</p>`}
    ${all.value.calendars.map(
      (c) => html`<${Calendar} key=${c.calendar} c=${c} all=${all.value} take=${take} />`,
    )}
    <${New} all=${all.value} take=${take} />
    <${Keepers} all=${all.value} after=${load} />
  `;
}

start(() => (me.value ? html`<${CalendarsPage} />` : null));
