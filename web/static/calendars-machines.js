// Which calendar each machine keeps, and whether it runs unattended.
import {html, useSignal} from "/static/vendor/ui.js";
import {may, note} from "/static/shell.js";
import {post} from "/static/api.js";
import {say} from "/static/words.js";
import {dateText, dayOf} from "/static/times.js";
import {Dialog} from "/static/dialog.js";
import {fromText} from "/static/calendars-edit.js";

const keeps = (k) => k.calendar || say("calendars.always");

function Change({m, names, today, done}) {
  const v = useSignal({calendar: m.calendar, unattended: m.unattended, from: today});
  const go = async (problem) => {
    const {from, ...rest} = v.value;
    try {
      await post("/api/v1/machines", {machine: m.machine, ...rest, ...(from > today ? {from} : {})});
      note("good", say("calendars.machine.saved", m.machine, fromText(from, today)));
      done(true);
    } catch (err) { problem(err.message); }
  };
  return html`<${Dialog} title=${`${m.machine} ${m.name}`} act=${say("calendars.save", fromText(v.value.from, today))} go=${go} close=${() => done(false)}>
    <div class="tools"><label>${say("calendars.keeps")}<select data-test="machine-calendar" onChange=${(e) => { v.value = {...v.value, calendar: e.target.value}; }}>
        ${["", ...names].map((n) => html`<option key=${n} value=${n} selected=${n === v.value.calendar}>${n || say("calendars.always")}</option>`)}</select></label>
      <label>${say("calendars.from")}<input type="date" data-test="machine-from" min=${today} value=${v.value.from} onInput=${(e) => { v.value = {...v.value, from: e.target.value || today}; }} /></label></div>
    <p><label class="tick"><input type="checkbox" data-test="machine-unattended" checked=${v.value.unattended} onChange=${(e) => { v.value = {...v.value, unattended: e.target.checked}; }} /><span>${say("calendars.unattended")} <small>${say("calendars.unattended.why")}</small></span></label></p><//>`;
}

function Row({m, change}) {
  const ahead = m.ahead.map((a) => say("calendars.then", dateText(dayOf(a.from)), `${keeps(a)}, ${say(a.unattended ? "calendars.alone" : "calendars.attended")}`)).join("; ");
  return html`<tr data-test="keeper" data-machine=${m.machine} data-calendar=${m.calendar} data-unattended=${String(m.unattended)}>
    <td data-label=${say("head.machine")}><b>${m.machine}</b> <small>${m.name}</small></td><td data-label=${say("screens.centre")}>${m.work_centre}</td>
    <td data-label=${say("calendars.keeps")}>${m.calendar || html`<span class="soft">${say("calendars.always")}</span>`} ${ahead && html`<small data-test="keeper-ahead">${ahead}</small>`}</td>
    <td data-label=${say("calendars.unattended")}>${say(m.unattended ? "calendars.yes" : "calendars.no")}</td>
    ${may("plan") && html`<td><button data-test="machine-change" onClick=${() => change(m)}>${say("calendars.edit")} …</button></td>`}</tr>`;
}

export function Keepers({all, after}) {
  const changing = useSignal(null), names = all.calendars.map((c) => c.calendar);
  return html`<section><h2>${say("calendars.per-machine")}</h2><table class="stack keepers"><thead><tr>${["head.machine", "screens.centre", "calendars.keeps", "calendars.unattended"].map((h) => html`<th key=${h} scope="col">${say(h)}</th>`)}${may("plan") && html`<th></th>`}</tr></thead>
    <tbody>${all.machines.map((m) => html`<${Row} key=${m.machine} m=${m} change=${(x) => { changing.value = x; }} />`)}</tbody></table>
    ${changing.value && html`<${Change} m=${changing.value} names=${names} today=${all.today} done=${(saved) => { changing.value = null; if (saved) after(); }} />`}</section>`;
}
