// Working time: the calendars, what they come to, and which machines keep them.
// Planners and administrators change them; others read.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, may, me, start} from "/static/shell.js";
import {get} from "/static/api.js";
import {say} from "/static/words.js";
import {dateText, dayOf} from "/static/times.js";
import {Turns} from "/static/calendars-turns.js";
import {Weeks} from "/static/calendars-days.js";
import {Editor} from "/static/calendars-edit.js";
import {Step} from "/static/calendars-steps.js";
import {Keepers} from "/static/calendars-machines.js";

// Ahead is a version that holds later.
function Ahead({a, edit}) {
  return html`<div class="ahead" data-test="ahead" data-from=${dayOf(a.from)}><p>${say("calendars.ahead", dateText(dayOf(a.from)))}</p><${Turns} turns=${a.turns} />
    ${may("plan") && html`<p class="deeds"><button data-test="edit-ahead" onClick=${() => edit({calendar: a.calendar, zone: a.zone, turns: a.turns, from: dayOf(a.from)})}>${say("calendars.edit-ahead")} …</button></p>`}</div>`;
}

function Calendar({c, all, take}) {
  const editing = useSignal(null), step = useSignal("");
  const done = (a) => { editing.value = null; step.value = ""; if (a) take(a); };
  return html`<section class="calendar" data-test="calendar" data-name=${c.calendar}><h2>${c.calendar} <span class="soft">${c.zone}</span></h2>
    <p class="soft">${c.machines.length ? say("calendars.kept", c.machines.join(", ")) : say("calendars.kept-by-none")} ${c.since && say("calendars.since", dateText(dayOf(c.since)))}</p>
    ${editing.value ? html`<${Editor} given=${editing.value} today=${all.today} done=${done} />` : html`<div class="calendar-read"><div><${Turns} turns=${c.turns} />
        ${may("plan") && html`<p class="deeds"><button data-test="edit" onClick=${() => { editing.value = {calendar: c.calendar, zone: c.zone, turns: c.turns}; }}>${say("calendars.edit")} …</button>
          <button data-test="overtime" onClick=${() => { step.value = "overtime"; }}>${say("calendars.overtime")} …</button><button data-test="off" onClick=${() => { step.value = "off"; }}>${say("calendars.off")} …</button></p>`}
        ${c.ahead.map((a) => html`<${Ahead} key=${a.from} a=${a} edit=${(v) => { editing.value = v; }} />`)}</div>
      <div><h3>${say("calendars.preview")}</h3><${Weeks} days=${c.days} zone=${c.zone} /></div></div>`}
    ${step.value && html`<${Step} kind=${step.value} c=${c} today=${all.today} done=${done} />`}</section>`;
}

function New({all, take}) {
  const open = useSignal(false);
  if (!may("plan")) return html`<p class="soft">${say("calendars.read")}</p>`;
  if (!open.value) return html`<p class="deeds"><button data-test="calendar-new" onClick=${() => { open.value = true; }}>${say("calendars.new")} …</button></p>`;
  const zone = all.zone || Intl.DateTimeFormat().resolvedOptions().timeZone;
  return html`<section class="calendar"><h2>${say("calendars.new")}</h2>
    <${Editor} isNew given=${{calendar: "", zone, turns: [{kind: "shift", days: "mon-fri", from: "06:00", to: "14:00"}]}} today=${all.today} done=${(a) => { open.value = false; if (a) take(a); }} /></section>`;
}

function CalendarsPage() {
  const all = useSignal(null);
  const load = () => get("/api/v1/calendars").then((a) => { all.value = a; }).catch(failed);
  useEffect(() => { load(); }, []);
  if (!all.value) return html`<h1>${say("calendars.title")}</h1><p class="soft">${say("loading")}</p>`;
  const take = (a) => { all.value = a; };
  return html`<h1>${say("calendars.title")}</h1><p class="soft">${say("calendars.how")}</p>
    ${all.value.calendars.length === 0 && html`<p class="empty" data-test="calendars-none">${say("calendars.none")}</p>`}
    ${all.value.calendars.map((c) => html`<${Calendar} key=${c.calendar} c=${c} all=${all.value} take=${take} />`)}
    <${New} all=${all.value} take=${take} /><${Keepers} all=${all.value} after=${load} />`;
}

start("calendars.title", () => (me.value ? html`<${CalendarsPage} />` : null));
