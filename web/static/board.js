// A live board: the whole once, then what changes, over a websocket that is
// opened again whenever it goes, for ever. It knows how old what it shows is.
import {computed, signal} from "/static/vendor/ui.js";
import {get, syncClock} from "/static/api.js";
import {notBefore, tick} from "/static/clock.js";

const heartbeat = 15000; // ms between two looks at the server
const silence = 40000; // without a word for so long, the link counts as gone; the server says one each 20 s
const patience = 10000; // for a socket to open
const nap = 20000; // a clock that jumped by so much: this computer slept
const grace = 4000; // a short break is not worth a word

export const rows = signal({});
export const about = signal(null); // zone, today, centres, seq, and what the board adds
export const link = signal("opening"); // opening, step, gone, or out: not let in any more
const heard = signal(0); // when the board was last known to be in step, by performance.now

// age is how long, in ms, the board has not been in step; 0 while it is.
export const age = computed(() => {
  void tick.value;
  if (!about.value) return 0;
  const since = performance.now() - heard.value;
  return link.value === "step" && since < silence ? 0 : since > grace ? since : 0;
});

let board = "waits", socket, tries = 0, waiting, changed = () => {}, reopened = () => {};

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
  about.value = {...about.value, ...rest};
  rows.value = next;
  changed(Object.values(set || {}), gone);
}

function open() {
  clearTimeout(waiting);
  const scheme = location.protocol === "https:" ? "wss://" : "ws://";
  const s = new WebSocket(scheme + location.host + "/live?board=" + board), old = socket;
  socket = s;
  old?.close();
  // A network that swallows everything gives neither an answer nor an error.
  const slow = setTimeout(() => { if (s === socket && s.readyState === WebSocket.CONNECTING) drop(); }, patience);
  s.onmessage = (e) => {
    if (s !== socket) return;
    take(JSON.parse(e.data));
    if (link.value !== "step") {
      link.value = "step";
      if (tries > 0) reopened();
      tries = 0;
    }
  };
  s.onclose = () => {
    clearTimeout(slow);
    if (s === socket) lost();
  };
}

// drop gives up a socket that looks open and is dead.
function drop() {
  const s = socket;
  socket = null;
  s?.close();
  lost();
}

async function lost() {
  link.value = "gone";
  const wait = Math.min(10000, 500 * 2 ** tries++) * (0.75 + Math.random() / 2);
  clearTimeout(waiting);
  waiting = setTimeout(open, wait);
  try {
    await get("/api/v1/me", {stay: true});
  } catch (err) {
    if (err.status === 401 && link.value !== "step") link.value = "out";
  }
}

// beat looks whether the socket still speaks, and keeps the clock in step.
function beat() {
  if (link.value === "step" && performance.now() - heard.value > silence) drop();
  else syncClock().catch(() => {});
}

// watchSleep notices that this computer slept, or its clock was put: sockets do
// not outlive that, and what is shown is as much older. Pages in the background
// are slowed down by the browser, which is no sleep.
function watchSleep() {
  let wall = Date.now(), steady = performance.now(), seen = !document.hidden;
  setInterval(() => {
    const gap = Date.now() - wall, counted = performance.now() - steady, awake = seen && !document.hidden;
    wall = Date.now();
    steady = performance.now();
    seen = !document.hidden;
    if (!awake || Math.abs(gap) < nap) return;
    heard.value -= Math.max(0, gap - counted);
    if (link.value === "step") drop();
    beat();
  }, 2000);
}

// openBoard keeps a board in step: waits, ground or pace. onChange gets the rows
// that were set and those that went; onReopen is called after a break.
export function openBoard({name = "waits", onChange, onReopen} = {}) {
  board = name;
  changed = onChange || changed;
  reopened = onReopen || reopened;
  heard.value = performance.now();
  open();
  setInterval(beat, heartbeat);
  watchSleep();
  addEventListener("online", () => { if (link.value !== "step") open(); });
}

// inOrder sorts rows by the rule: due date (none last), priority, longest wait.
export function inOrder(list) {
  const due = (r) => r.due || "9999-99-99";
  const text = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  return [...list].sort((a, b) => text(due(a), due(b)) || b.priority - a.priority || Date.parse(a.since) - Date.parse(b.since) || text(a.key, b.key));
}
