// Editing a calendar: its lines, what they come to (asked of the server while
// they change), from when they hold.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {note} from "/static/shell.js";
import {post} from "/static/api.js";
import {say} from "/static/words.js";
import {dateText} from "/static/times.js";
import {Turn, fresh} from "/static/calendars-turns.js";
import {Weeks} from "/static/calendars-days.js";

const kinds = ["shift", "break", "off", "overtime"];
const patience = 300; // ms of no typing before the server is asked

// bodyOf is a calendar as the server takes it; from today on means from now on,
// behind all that was changed before.
export function bodyOf(c, from, today, more = {}) {
  return {calendar: c.calendar, ...(c.zone ? {zone: c.zone} : {}), turns: c.turns, ...(from && from > today ? {from} : {}), ...more};
}

export const fromText = (from, today) => (from && from > today ? dateText(from) : say("calendars.now"));

// useDryRun asks what a calendar would come to.
function useDryRun(c, from, today) {
  const came = useSignal({days: [], fault: null, problem: ""});
  const asked = JSON.stringify([c, from]);
  useEffect(() => {
    let mine = true;
    const t = setTimeout(async () => {
      try {
        const a = await post("/api/v1/calendars", bodyOf({...c, calendar: c.calendar || "?"}, from, today, {dry: true}));
        if (mine) came.value = {days: a.days, fault: a.fault || null, problem: ""};
      } catch (err) {
        if (mine) came.value = {days: [], fault: null, problem: err.message};
      }
    }, patience);
    return () => { mine = false; clearTimeout(t); };
  }, [asked]);
  return came;
}

function Head({c, set, isNew}) {
  if (!isNew) return null;
  return html`<div class="tools"><label>${say("calendars.name")}<input data-test="calendar-name" required maxlength="60" value=${c.calendar} onInput=${(e) => set({...c, calendar: e.target.value})} /></label>
    <label>${say("calendars.zone")}<input data-test="calendar-zone" value=${c.zone} onInput=${(e) => set({...c, zone: e.target.value.trim()})} /></label></div>`;
}

// Editor edits what it is given: {calendar, zone, turns, from}. done is called
// with the server's answer, or with nothing when it was left.
export function Editor({given, isNew, today, done}) {
  const c = useSignal({calendar: given.calendar, zone: given.zone, turns: given.turns}), from = useSignal(given.from || today);
  const problem = useSignal(""), busy = useSignal(false), came = useDryRun(c.value, from.value, today), fault = came.value.fault;
  const turns = (f) => { c.value = {...c.value, turns: f(c.value.turns)}; };
  const save = async (e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    problem.value = "";
    try {
      const a = await post("/api/v1/calendars", bodyOf({...c.value, calendar: c.value.calendar.trim()}, from.value, today));
      note("good", say("calendars.saved", c.value.calendar, fromText(from.value, today)));
      done(a);
    } catch (err) { problem.value = err.message; } finally { busy.value = false; }
  };
  return html`<form class="calendar-edit" data-test="calendar-edit" onSubmit=${save}><${Head} c=${c.value} isNew=${isNew} set=${(v) => { c.value = v; }} />
    <h3>${say("calendars.lines")}</h3>
    <ol class="edit-turns">${c.value.turns.map((t, i) => html`<${Turn} key=${i} t=${t} i=${i} fault=${fault && fault.turn === i ? fault : null}
      set=${(v) => turns((l) => l.map((x, j) => (j === i ? v : x)))} remove=${() => turns((l) => l.filter((_, j) => j !== i))} />`)}</ol>
    <p class="deeds">${kinds.map((k) => html`<button key=${k} type="button" data-test=${"add-" + k} onClick=${() => turns((l) => [...l, fresh(k, today)])}>${say("calendars.add." + k)}</button>`)}</p>
    ${fault && fault.turn < 0 && html`<p class="problem" role="alert" data-test="calendar-fault">${fault.text}</p>`}
    ${(problem.value || came.value.problem) && html`<p class="problem" role="alert" data-test="problem">${problem.value || came.value.problem}</p>`}
    <div class="tools"><label>${say("calendars.from")}<input type="date" data-test="calendar-from" min=${today} value=${from.value} onInput=${(e) => { from.value = e.target.value || today; }} /></label>
      <span class="deeds"><button class="act" type="submit" disabled=${busy.value || Boolean(fault)} data-test="calendar-save">${say("calendars.save", fromText(from.value, today))}</button>
        <button type="button" data-test="calendar-leave" onClick=${() => done()}>${say("leave")}</button></span></div>
    ${came.value.days.length > 0 && html`<h3>${from.value > today ? say("calendars.preview-from", dateText(from.value)) : say("calendars.preview")} <span class="soft">${say("calendars.unsaved")}</span></h3><${Weeks} days=${came.value.days} zone=${c.value.zone} />`}</form>`;
}
