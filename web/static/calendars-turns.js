// The lines of a calendar: shifts and breaks by days of the week, days off and
// overtime by date.
import {html} from "/static/vendor/ui.js";
import {locale, say} from "/static/words.js";
import {dateText} from "/static/times.js";
import {TimeInput} from "/static/time-input.js";

export const week = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
export const weekly = (kind) => kind === "shift" || kind === "break";

const monday = Date.UTC(2024, 0, 1); // any Monday
export const dayName = (d, style = "short") => new Intl.DateTimeFormat(locale, {timeZone: "UTC", weekday: style}).format(monday + week.indexOf(d) * 86400e3);

// daysOf reads days such as mon-fri or mon,wed,sat; a range may pass Sunday.
export function daysOf(text) {
  const out = new Set();
  for (const part of (text === "daily" ? "mon-sun" : text || "").split(",").map((p) => p.trim().toLowerCase()).filter(Boolean)) {
    const [a, b = a] = part.split("-").map((d) => week.indexOf(d.trim().slice(0, 3)));
    if (a < 0 || b < 0) continue;
    for (let i = a; ; i = (i + 1) % 7) {
      out.add(week[i]);
      if (i === b) break;
    }
  }
  return out;
}

// daysText writes them again, three days and more in a row as a range.
export function daysText(days) {
  const on = week.filter((d) => days.has(d)), out = [];
  for (let i = 0; i < on.length;) {
    let j = i;
    while (j + 1 < on.length && week.indexOf(on[j + 1]) === week.indexOf(on[j]) + 1) j++;
    if (j - i >= 2) out.push(on[i] + "-" + on[j]);
    else out.push(...on.slice(i, j + 1));
    i = j + 1;
  }
  return out.join(",");
}

// turnText is a line in words.
export function turnText(t) {
  const when = weekly(t.kind) ? daysInWords(t.days) : dateText(t.date);
  return `${say("turn." + t.kind)} ${when}${t.kind === "off" ? "" : ` ${t.from}–${t.to}`}`;
}

const daysInWords = (text) => daysText(daysOf(text)).split(",").map((p) => p.split("-").map((d) => dayName(d)).join("–")).join(", ");

// fresh is a new line of a kind.
export function fresh(kind, today) {
  if (weekly(kind)) return {kind, days: "mon-fri", from: kind === "shift" ? "06:00" : "10:00", to: kind === "shift" ? "14:00" : "10:30"};
  return kind === "off" ? {kind, date: today} : {kind, date: today, from: "06:00", to: "12:00"};
}

function Days({t, set}) {
  const on = daysOf(t.days);
  const toggle = (d) => {
    const next = new Set(on);
    if (!next.delete(d)) next.add(d);
    set({...t, days: daysText(next)});
  };
  return html`<span class="days" role="group" aria-label=${say("turn.days")}>${week.map((d) => html`<button key=${d} type="button" class="day" data-test=${"day-" + d} aria-pressed=${on.has(d)} aria-label=${dayName(d, "long")} onClick=${() => toggle(d)}>${dayName(d)}</button>`)}</span>`;
}

// Turn is a line to be edited; fault is what is wrong with it.
export function Turn({t, i, set, remove, fault}) {
  const bad = (field) => (fault && fault.field === field ? "true" : undefined);
  const time = (field) => html`<label>${say("turn." + field)}<${TimeInput} data-test=${"turn-" + field} value=${t[field] || ""} aria-invalid=${bad(field)} set=${(v) => set({...t, [field]: v})} /></label>`;
  return html`<li class=${fault ? "turn bad" : "turn"} data-test="turn" data-kind=${t.kind} data-line=${i + 1}><b class="kind">${say("turn." + t.kind)}</b>
    ${weekly(t.kind) ? html`<${Days} t=${t} set=${set} />` : html`<label>${say("turn.date")}<input type="date" data-test="turn-date" value=${t.date || ""} aria-invalid=${bad("date")} onInput=${(e) => set({...t, date: e.target.value})} /></label>`}
    ${t.kind !== "off" && html`${time("from")}${time("to")}`}
    ${t.kind !== "off" && t.from && t.to && t.to <= t.from && html`<span class="hint">${say("turn.next-day")}</span>`}
    <button type="button" class="quiet" data-test="turn-remove" aria-label=${say("calendars.remove")} onClick=${remove}>${say("remove")}</button>
    ${fault && html`<p class="problem" role="alert" data-test="turn-fault">${say("calendars.fault", i + 1, fault.text)}</p>`}</li>`;
}

// Turns are lines to be read.
export const Turns = ({turns}) => html`<ul class="turns" data-test="turns">${turns.map((t, i) => html`<li key=${i}>${turnText(t)}</li>`)}</ul>`;
