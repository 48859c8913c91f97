// The pace board as a page to work with: what runs now against its plan, then
// planned and actual of every operation. What is chosen stands in the address.
import {html, signal, useComputed} from "/static/vendor/ui.js";
import {about, rows} from "/static/board.js";
import {say, count} from "/static/words.js";
import {tick} from "/static/clock.js";
import {LinkState} from "/static/link-state.js";
import {CsvButton} from "/static/csv.js";
import {WallSettings} from "/static/wall-settings.js";
import {orders, standing} from "/static/pace-rows.js";
import {OpTable, opCells, opHead} from "/static/pace-ops.js";
import {NowTable, nowCells, nowHead} from "/static/pace-now.js";

const fields = {part: "part", route_rev: "route_rev", centre: "work_centre"};

function fromAddress() {
  const q = new URLSearchParams(location.search);
  return {part: q.get("part") || "", route_rev: q.get("route_rev") || "", centre: q.get("centre") || "", sort: orders[q.get("sort")] ? q.get("sort") : "deviation"};
}

const chosen = signal(fromAddress());
addEventListener("popstate", () => { chosen.value = fromAddress(); });

// choose keeps what was chosen in the address, so that it can be sent on.
function choose(key, value) {
  const next = {...chosen.value, [key]: value};
  if (key === "part") next.route_rev = "";
  const q = new URLSearchParams(Object.entries(next).filter(([k, v]) => v && !(k === "sort" && v === "deviation")));
  history.replaceState(null, "", location.pathname + (q.size ? "?" + q : ""));
  chosen.value = next;
}

const fits = (r) => Object.entries(fields).every(([k, f]) => !chosen.value[k] || r[f] === chosen.value[k]);
const valuesOf = (list, field) => [...new Set(list.map((r) => r[field]))].sort();

function Choice({name, list}) {
  const v = chosen.value[name];
  const all = [...new Set([...list, ...(v ? [v] : [])])];
  return html`<label>${say("pace.by." + name)}<select data-test=${"pace-by-" + name} onChange=${(e) => choose(name, e.target.value)}>
    <option value="" selected=${!v}>${say("pace.all")}</option>${all.map((x) => html`<option key=${x} value=${x} selected=${x === v}>${x}</option>`)}</select></label>`;
}

function Tools({all}) {
  const ofPart = chosen.value.part ? all.filter((r) => r.part === chosen.value.part) : all;
  return html`<div class="tools"><${Choice} name="part" list=${valuesOf(all, "part")} /><${Choice} name="route_rev" list=${valuesOf(ofPart, "route_rev")} /><${Choice} name="centre" list=${valuesOf(all, "work_centre")} />
    <label>${say("pace.sort")}<select data-test="pace-sort" onChange=${(e) => choose("sort", e.target.value)}>${Object.keys(orders).map((k) => html`<option key=${k} value=${k} selected=${k === chosen.value.sort}>${say("pace.sort." + k)}</option>`)}</select></label>
    <${WallSettings} board="pace" /></div>`;
}

function Summary({now, ops}) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  const past = now.filter((r) => standing(r, minute.value).past > 0).length, stopped = now.filter((r) => r.state === "stopped").length;
  const said = [count("pace.on-now", now.length)];
  if (past) said.push(count("pace.past-plan", past));
  if (stopped) said.push(count("pace.stopped", stopped));
  said.push(count("pace.operations", ops.length));
  return html`<p class="summary" data-test="summary">${said.join(" · ")}</p>`;
}

export function PacePage() {
  const all = useComputed(() => Object.values(rows.value));
  if (!about.value) return html`<h1>${say("pace.title")}</h1><${LinkState} /><p class="soft">${say("loading")}</p>`;
  const shown = all.value.filter(fits), now = shown.filter((r) => r.kind === "now");
  const ops = shown.filter((r) => r.kind === "op").sort(orders[chosen.value.sort]);
  return html`<div class="top"><h1>${say("pace.title")}</h1><${LinkState} /></div>
    <${Summary} now=${now} ops=${ops} /><${Tools} all=${all.value} />
    <section><div class="top"><h2>${say("pace.now")}</h2>${now.length > 0 && html`<${CsvButton} name="pace-now" head=${nowHead} rows=${() => now.map(nowCells)} />`}</div>
      <${NowTable} list=${now} />${now.length > 0 && html`<p class="soft">${say("pace.now.how")}</p>`}</section>
    <section><div class="top"><h2>${say("pace.ops", about.value.days)}</h2>${ops.length > 0 && html`<${CsvButton} name="pace" head=${opHead} rows=${() => ops.map(opCells)} />`}</div>
      <p class="soft">${say("pace.how")}</p><p><a class="button" href="/fits" data-test="pace-fits">${say("fits.link")}</a></p>
      ${ops.length > 0 ? html`<${OpTable} list=${ops} />` : html`<p class="empty" data-test="pace-empty">${say(all.value.some((r) => r.kind === "op") ? "pace.nothing-found" : "pace.empty")}</p>`}</section>`;
}
