// One-step changes of a calendar: overtime on a date, a day off.
import {html, useSignal} from "/static/vendor/ui.js";
import {note} from "/static/shell.js";
import {post} from "/static/api.js";
import {say} from "/static/words.js";
import {dateText, dayOf} from "/static/times.js";
import {Dialog} from "/static/dialog.js";
import {TimeInput} from "/static/time-input.js";
import {bodyOf} from "/static/calendars-edit.js";

// earlier is how far back a day off or overtime may be said afterwards.
const earlier = (today) => new Date(Date.parse(today + "T12:00:00Z") - 60 * 86400e3).toISOString().slice(0, 10);

// versionOn is the version of a calendar that holds on a date, with the date
// from which it does where that is still to come.
export function versionOn(c, date) {
  let v = {calendar: c.calendar, zone: c.zone, turns: c.turns, from: ""};
  for (const a of c.ahead) if (dayOf(a.from) <= date) v = {calendar: a.calendar, zone: a.zone, turns: a.turns, from: dayOf(a.from)};
  return v;
}

export function Step({kind, c, today, done}) {
  const v = useSignal({date: today, from: "06:00", to: "12:00"});
  const set = (k) => (x) => { v.value = {...v.value, [k]: x}; };
  const go = async (problem) => {
    const {date, from, to} = v.value, version = versionOn(c, date);
    const turn = kind === "off" ? {kind, date} : {kind, date, from, to};
    try {
      const a = await post("/api/v1/calendars", bodyOf({...version, turns: [...version.turns, turn]}, version.from, today));
      note("good", say(`calendars.${kind}.done`, c.calendar, dateText(date), from, to));
      done(a);
    } catch (err) { problem(err.message); }
  };
  const time = (k) => html`<label>${say("turn." + k)}<${TimeInput} required data-test=${"step-" + k} value=${v.value[k]} set=${set(k)} /></label>`;
  return html`<${Dialog} title=${`${say("calendars." + kind)}: ${c.calendar}`} act=${say("calendars." + kind)} go=${go} close=${() => done()}>
    <div class="tools"><label>${say("turn.date")}<input type="date" required min=${earlier(today)} data-test="step-date" value=${v.value.date} onInput=${(e) => set("date")(e.target.value)} /></label>${kind === "overtime" && html`${time("from")}${time("to")}`}</div><//>`;
}
