// The waits board as a page to work with: per work centre what is being worked
// on and which batches wait, in the order of the rule.
import {html, useComputed, useSignal} from "/static/vendor/ui.js";
import {about, inOrder, rows} from "/static/board.js";
import {say, count} from "/static/words.js";
import {LinkState} from "/static/link-state.js";
import {WaitTable} from "/static/waits-table.js";
import {Machines} from "/static/waits-work.js";
import {WallSettings} from "/static/wall-settings.js";

const fields = ["card", "part", "part_name", "works_order", "machine", "work_centre"];

export function matches(row, text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const all = fields.map((f) => (row[f] || "").toLowerCase()).join(" ");
  return words.every((w) => all.includes(w));
}

// byCentre groups rows under the shop's work centres; centres that only rows
// name (outside work, say) follow.
function byCentre(centres, list) {
  const out = new Map(centres.map((c) => [c.work_centre, {...c, waits: [], works: []}]));
  for (const r of list) {
    if (!out.has(r.work_centre)) out.set(r.work_centre, {work_centre: r.work_centre, machines: [], waits: [], works: []});
    out.get(r.work_centre)[r.kind === "wait" ? "waits" : "works"].push(r);
  }
  for (const c of out.values()) c.waits = inOrder(c.waits);
  return [...out.values()];
}

function Centre({c, today, filtered}) {
  const pieces = c.waits.reduce((n, r) => n + r.pieces, 0);
  return html`<section class="centre" data-test="centre" data-centre=${c.work_centre}>
    <h2>${c.work_centre} <span class="soft">${c.waits.length ? count("waits.here", c.waits.length, count("pieces", pieces)) : say(filtered ? "waits.none-found" : "waits.none")}</span></h2>
    <div class="sides"><${Machines} c=${c} filtered=${filtered} /><${WaitTable} rows=${c.waits} today=${today} /></div></section>`;
}

function Summary({list}) {
  const waits = list.filter((r) => r.kind === "wait");
  const batches = new Set(waits.map((r) => r.card)).size;
  const late = new Set(list.filter((r) => r.late).map((r) => r.card)).size;
  const held = new Set(waits.filter((r) => r.state === "held").map((r) => r.card)).size;
  const works = new Set(list.filter((r) => r.kind === "work").map((r) => r.card)).size;
  const said = [count("waits.batches", batches), count("waits.worked", works)];
  if (late) said.push(count("waits.late", late));
  if (held) said.push(count("waits.held", held));
  return html`<p class="summary" data-test="summary">${said.join(" · ")}</p>`;
}

export function WaitsPage() {
  const text = useSignal("");
  const list = useComputed(() => Object.values(rows.value));
  if (!about.value) return html`<h1>${say("waits.title")}</h1><${LinkState} /><p class="soft">${say("loading")}</p>`;
  const shown = text.value.trim() ? list.value.filter((r) => matches(r, text.value)) : list.value;
  let centres = byCentre(about.value.centres || [], shown);
  if (text.value.trim()) centres = centres.filter((c) => c.waits.length + c.works.length);
  return html`<div class="top"><h1>${say("waits.title")}</h1><${LinkState} /></div>
    <${Summary} list=${list.value} />
    <p class="soft">${say("waits.rule")} ${about.value.calendar ? "" : say("waits.calendar")}</p>
    <div class="tools"><label class="find">${say("waits.find")}
      <input type="search" data-test="filter" value=${text.value} onInput=${(e) => { text.value = e.target.value; }} /></label><${WallSettings} /></div>
    ${centres.map((c) => html`<${Centre} key=${c.work_centre} c=${c} today=${about.value.today} filtered=${Boolean(text.value.trim())} />`)}
    ${centres.length === 0 && html`<p class="empty">${say(text.value.trim() ? "waits.nothing-found" : "waits.empty")}</p>`}`;
}
