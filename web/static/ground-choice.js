// Whose walks the ground shows. The choice lives in the address, so that it can be
// kept, sent to someone and gone back to.
import {html, signal} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {shop} from "/static/shop.js";

const names = ["batch", "part", "route_rev", "over", "from", "to", "place"];

// choice is {walks: week|batch|part|period, batch, part, route_rev, over, from, to,
// place}; over is the route laid over route_rev, place the one that is open.
export const choice = signal(read());

function read() {
  const q = new URLSearchParams(location.search);
  const c = Object.fromEntries(names.map((n) => [n, q.get(n) || ""]));
  return {...c, walks: c.batch ? "batch" : c.part ? "part" : c.from || c.to ? "period" : "week"};
}

// choose changes the choice and the address.
export function choose(some) {
  choice.value = {...choice.value, ...some};
  const q = new URLSearchParams();
  for (const n of names) if (used(choice.value, n)) q.set(n, choice.value[n]);
  const text = q.toString();
  history.pushState(null, "", location.pathname + (text ? "?" + text : ""));
}

addEventListener("popstate", () => { choice.value = read(); });

const fields = {week: [], batch: ["batch"], part: ["part", "route_rev", "over", "from", "to"], period: ["from", "to"]};
const used = (c, name) => Boolean(c[name]) && (name === "place" || fields[c.walks].includes(name));

// chosen is what the server is asked for: one choice, or two routes that are laid
// over each other; empty as long as something is missing.
export function chosen(c, week) {
  const ask = (some) => new URLSearchParams(some).toString();
  const period = Object.fromEntries(["from", "to"].filter((n) => used(c, n)).map((n) => [n, c[n]]));
  if (c.walks === "week") return [{name: "", query: ask({from: week})}];
  if (c.walks === "batch") return c.batch ? [{name: c.batch, query: ask({batch: c.batch})}] : [];
  if (c.walks === "period") return Object.keys(period).length ? [{name: "", query: ask(period)}] : [];
  if (!c.part) return [];
  const routes = [...new Set([c.route_rev, c.over])].filter(Boolean);
  if (routes.length === 0) return [{name: c.part, query: ask({part: c.part, ...period})}];
  return routes.map((r) => ({name: say("ground.route", r), query: ask({part: c.part, route_rev: r, ...period})}));
}

// routesOf lists the route revisions of a part.
export const routesOf = (part) => (shop.value ? shop.value.parts.filter((p) => p.part === part).map((p) => p.route_rev) : []);

function Pick({name, value, options, set}) {
  return html`<label>${say("ground." + name)}<select data-test=${"choose-" + name} onChange=${(e) => set(e.target.value)}>
    ${options.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === value}>${text}</option>`)}</select></label>`;
}

function Typed({name, type}) {
  return html`<label>${say("ground." + name)}<input type=${type} data-test=${"choose-" + name} value=${choice.value[name]} onChange=${(e) => choose({[name]: e.target.value.trim()})} /></label>`;
}

function Routes() {
  const c = choice.value, revs = routesOf(c.part);
  const first = [["", say("ground.every-route")], ...revs.map((r) => [r, r])];
  const second = [["", say("none")], ...revs.filter((r) => r !== c.route_rev).map((r) => [r, r])];
  return html`<${Pick} name="route_rev" value=${c.route_rev} options=${first} set=${(v) => choose({route_rev: v, over: v && v !== c.over ? c.over : ""})} />
    ${c.route_rev && revs.length > 1 && html`<${Pick} name="over" value=${c.over} options=${second} set=${(v) => choose({over: v})} />`}`;
}

// Choice is the form above the map.
export function Choice() {
  const c = choice.value;
  const parts = [...new Map((shop.value ? shop.value.parts : []).map((p) => [p.part, p.part_name]))].sort();
  const walks = ["week", "batch", "part", "period"].map((k) => [k, say("ground.walks." + k)]);
  return html`<form class="tools" data-test="choice" onSubmit=${(e) => e.preventDefault()}>
    <${Pick} name="walks" value=${c.walks} options=${walks} set=${(v) => choose({walks: v})} />
    ${c.walks === "batch" && html`<${Typed} name="batch" type="search" />`}
    ${c.walks === "part" && html`<${Pick} name="part" value=${c.part} options=${[["", say("ground.choose-part")], ...parts.map(([p, n]) => [p, n ? `${p} ${n}` : p])]} set=${(v) => choose({part: v, route_rev: "", over: ""})} /><${Routes} />`}
    ${["part", "period"].includes(c.walks) && html`<${Typed} name="from" type="date" /><${Typed} name="to" type="date" />`}</form>`;
}
