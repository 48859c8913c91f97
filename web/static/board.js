// The live waits board: the whole once, then what changes, over a websocket that
// is opened again whenever it goes. It knows how old what it shows is.
import {computed, signal} from "/static/vendor/ui.js";
import {get, syncClock} from "/static/api.js";
import {notBefore, tick} from "/static/clock.js";

const heartbeat = 15000; // ms between two looks at the server
const silence = 40000; // without an answer for so long, the link counts as gone
const grace = 4000; // a short break is not worth a word

export const rows = signal({});
export const about = signal(null); // zone, today, rule, calendar, centres, seq
export const link = signal("opening"); // opening, step, gone, or out: not let in any more
const heard = signal(0); // when the board was last known to be in step, by performance.now

// age is how long, in ms, the board has not been in step; 0 while it is.
export const age = computed(() => {
  void tick.value;
  if (!about.value) return 0;
  const since = performance.now() - heard.value;
  return link.value === "step" && since < silence ? 0 : since > grace ? since : 0;
});

let socket, tries = 0, waiting, lastBeat = 0, changed = () => {}, reopened = () => {};

function take(message) {
  heard.value = performance.now();
  notBefore(message.at);
  if (message.whole) {
    const {rows: all, ...rest} = message;
    about.value = rest;
    rows.value = all || {};
    changed(Object.values(all || {}), []);
    return;
  }
  const next = {...rows.value};
  const gone = (message.gone || []).map((k) => next[k]).filter(Boolean);
  for (const k of message.gone || []) delete next[k];
  Object.assign(next, message.set);
  const {set, gone: _, ...rest} = message;
  about.value = {...about.value, ...rest, centres: rest.centres || about.value.centres};
  rows.value = next;
  changed(Object.values(set || {}), gone);
}

function open() {
  clearTimeout(waiting);
  const scheme = location.protocol === "https:" ? "wss://" : "ws://";
  const s = new WebSocket(scheme + location.host + "/live?board=waits");
  socket = s;
  s.onmessage = (e) => {
    if (s !== socket) return;
    take(JSON.parse(e.data));
    if (link.value !== "step") {
      link.value = "step";
      if (tries > 0) reopened();
      tries = 0;
    }
  };
  s.onclose = () => { if (s === socket) lost(); };
}

async function lost() {
  link.value = "gone";
  const wait = Math.min(10000, 500 * 2 ** tries++) * (0.75 + Math.random() / 2);
  clearTimeout(waiting);
  waiting = setTimeout(open, wait);
  try {
    await get("/api/v1/me", {stay: true});
  } catch (err) {
    if (err.status === 401) link.value = "out";
  }
}

async function beat() {
  const asked = performance.now();
  try {
    await syncClock();
    lastBeat = performance.now();
    if (link.value === "step") heard.value = lastBeat;
  } catch {
    if (asked - lastBeat > silence && socket && link.value === "step") {
      const s = socket; // it looks open and is dead
      socket = null;
      s.close();
      lost();
    }
  }
}

// openBoard keeps the board in step. onChange gets the rows that were set and
// those that went; onReopen is called after a break.
export function openBoard({onChange, onReopen} = {}) {
  changed = onChange || changed;
  reopened = onReopen || reopened;
  heard.value = lastBeat = performance.now();
  open();
  setInterval(beat, heartbeat);
}

// inOrder sorts rows by the rule: due date (none last), priority, longest wait.
export function inOrder(list) {
  const due = (r) => r.due || "9999-99-99";
  const text = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  return [...list].sort((a, b) => text(due(a), due(b)) || b.priority - a.priority || Date.parse(a.since) - Date.parse(b.since) || text(a.key, b.key));
}

// pastPlan is by how many ms a row at work is past its plan, at t; 0 if it is not.
export function pastPlan(row, t) {
  if (!row.planned_s) return 0;
  return Math.max(0, t - Date.parse(row.since) - row.planned_s * 1000);
}
