// Planned and actual of each operation of each route revision.
import {html} from "/static/vendor/ui.js";
import {say, count} from "/static/words.js";
import {shortSpan} from "/static/times.js";
import {Spread} from "/static/scale.js";
import {deviation, deviationText, fewest, hard, opLink, timeText} from "/static/pace-rows.js";

// Told is one time of an operation: the two marks, and in words what they are.
// Under five batches there is no middle half.
export function Told({name, planned, s}) {
  if (s.n === 0) return html`<span class="soft">${planned > 0 ? say("pace.planned", timeText(planned)) + ", " : ""}${say("pace.none")}</span>`;
  const half = s.n >= fewest;
  const plan = planned > 0 ? say("pace.planned", timeText(planned)) : say("pace.unplanned");
  const was = half ? say("pace.median", timeText(s.p50_s), timeText(s.p25_s), timeText(s.p75_s)) : say("pace.median-only", timeText(s.p50_s));
  const label = `${plan}, ${was}`;
  return html`<div class="told-time" data-test=${"pace-" + name}><${Spread} planned=${planned} low=${s.p25_s} mid=${s.p50_s} high=${s.p75_s} half=${half} label=${label} />
    <small>${plan}, <b>${was}</b>${!half ? " – " + count("pace.only", s.n) : ""}</small></div>`;
}

// ToldWait is the walk and wait before an operation; nobody plans it.
export function ToldWait({wait, worked}) {
  if (wait.n === 0) return html`<span class="soft">${say("pace.none")}</span>`;
  const half = wait.n >= fewest, time = (s) => hard(shortSpan(s * 1000)), same = Math.abs(wait.p50_s - worked.p50_s) < 60;
  const was = half ? say("pace.median", time(wait.p50_s), time(wait.p25_s), time(wait.p75_s)) : say("pace.median-only", time(wait.p50_s));
  const open = same ? "" : say("pace.open", time(worked.p50_s));
  return html`<div class="told-time" data-test="pace-wait"><${Spread} planned=${0} low=${wait.p25_s} mid=${wait.p50_s} high=${wait.p75_s} half=${half} second=${same ? undefined : worked.p50_s} label=${[was, open].filter(Boolean).join(", ")} />
    <small><b>${was}</b>${open && ", " + open}${!half ? " – " + count("pace.only", wait.n) : ""}</small></div>`;
}

// Rests says on how many batches it rests, and how many were left out.
export function Rests({row}) {
  return html`${count("pace.batches", row.batches)}${row.left_out > 0 && html` <small data-test="pace-left-out">${count("pace.left-out", row.left_out)}</small>`}`;
}

export function OpRow({row}) {
  const cell = (name, content) => html`<td class=${"p-" + name} data-label=${say("pace.head." + name)}>${content}</td>`;
  const d = deviation(row);
  return html`<tr data-test="pace-op" data-part=${row.part} data-rev=${row.route_rev} data-operation=${row.operation} data-centre=${row.work_centre} data-deviation=${d === null ? "" : d.toFixed(4)}>
    ${cell("op", html`<a class="open-op" data-test="pace-open" href=${opLink(row)}><b>${row.part}</b> ${say("operation.of", row.operation)}</a>
      <small>${row.part_name ? row.part_name + ", " : ""}${say("pace.route", row.route_rev)}, ${row.work_centre}</small>`)}
    ${cell("setup", html`<${Told} name="setup" planned=${row.plan_setup_s} s=${row.setup} />`)}
    ${cell("piece", html`<${Told} name="piece" planned=${row.plan_piece_s} s=${row.piece} />`)}
    ${cell("wait", html`<${ToldWait} wait=${row.wait} worked=${row.worked} />`)}
    ${cell("against", html`<b class=${d === null ? "soft" : ""} data-test="pace-deviation">${deviationText(row)}</b> <small><${Rests} row=${row} /></small>`)}</tr>`;
}

const heads = ["op", "setup", "piece", "wait", "against"];

export function OpTable({list}) {
  return html`<table class="ops stack"><thead><tr>${heads.map((h) => html`<th key=${h} scope="col">${say("pace.head." + h)}</th>`)}</tr></thead>
    <tbody>${list.map((r) => html`<${OpRow} key=${r.key} row=${r} />`)}</tbody></table>`;
}

const spreads = ["setup", "piece", "wait", "worked"];

// opHead and opCells are an operation's line as CSV; times in seconds.
export const opHead = ["part", "part_name", "route_rev", "operation", "work_centre", "plan_setup_s", "plan_piece_s",
  ...spreads.flatMap((s) => ["n", "p25_s", "p50_s", "p75_s"].map((k) => `${s}_${k}`)), "plan_s", "actual_s", "batches", "left_out"];
export const opCells = (r) => [r.part, r.part_name || "", r.route_rev, r.operation, r.work_centre, r.plan_setup_s, r.plan_piece_s,
  ...spreads.flatMap((s) => ["n", "p25_s", "p50_s", "p75_s"].map((k) => r[s][k])), r.plan_s, r.actual_s, r.batches, r.left_out];
