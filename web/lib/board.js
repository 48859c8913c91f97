// A live board: the whole once, then what changes, over a websocket that is opened
// again whenever it goes, for ever. How old what it shows is, and working time on it.
import { computed, html, signal, useComputed } from "./vendor/ui.js";
import { askedNow, doubt, get, syncClock } from "./api.js";
import { notBefore, tick } from "./clock.js";
import { Shape } from "./marks.js";
import { clockText, minuteText, span } from "./times.js";
import { count, say } from "./words.js";

/**
 * @typedef {import("./_types.js").Schema} Schema
 * @typedef {Schema["Row"]} Row
 * Boards are what each board comes to, by its name.
 * @typedef {{waits: Schema["WaitsBoard"], ground: Schema["GroundBoard"], pace: Schema["PaceBoard"]}} Boards
 */
/**
 * RowOf is a row of a board.
 * @template {keyof Boards} N
 * @typedef {Boards[N]["rows"][string]} RowOf
 */
/**
 * About is a board without its rows: zone, today, centres, seq, and what it adds. Lines are
 * there on every board, and empty where it has none.
 * @template {keyof Boards} N
 * @typedef {Omit<Boards[N], "rows"> & {lines: Schema["WaitsBoard"]["lines"]}} About
 */
/**
 * Live is a board as it is now.
 * @template {keyof Boards} N
 * @typedef {object} Live
 * @property {import("./vendor/ui.js").Signal<About<N> | null>} about
 * @property {import("./vendor/ui.js").Signal<Record<string, RowOf<N>>>} rows
 */
/**
 * Message is a board as a socket says it: the whole, or what changed of it.
 * @typedef {{whole: true, rows?: Record<string, RowOf<keyof Boards>>} & About<keyof Boards>} Whole
 * @typedef {{at: string, whole: false, set?: Whole["rows"], gone?: string[]}
 *   & Partial<Omit<About<keyof Boards>, "whole">>} Change
 * @typedef {Whole | Change} Message
 */

const heartbeat = 15000; // ms between two looks at the server
const silence = 40000; // without a word for so long, the link counts as gone; the server says one each 20 s
const patience = 10000; // for a socket to open
const unheard = 3000; // for a server to say its time
const nap = 20000; // a clock that jumped by so much: this computer slept
const grace = 4000; // a short break is not worth a word

/** @type {Live<keyof Boards>} */
const shown = { about: signal(null), rows: signal({}) };
const { about, rows } = shown;
// boards are the one board that a page opens, by the name that it opens it by.
export const boards = /** @type {{[N in keyof Boards]: Live<N>}} */ ({
  waits: shown,
  ground: shown,
  pace: shown,
});
const link = signal("opening"); // opening, step, gone, or out: not let in any more
const heard = signal(0); // when the board was last known to be in step, by performance.now

// age is how long, in ms, the board has not been in step; 0 while it is.
const age = computed(() => {
  void tick.value;
  if (!about.value) return 0;
  const since = performance.now() - heard.value;
  return link.value === "step" && since < silence ? 0 : since > grace ? since : 0;
});

let board = "waits";
/** @type {WebSocket | null | undefined} */
let socket;
let tries = 0;
let isOpened = false;
/** @type {{change: () => Promise<boolean>, protocols: () => string[]}} */
let servers = { change: async () => false, protocols: () => [] };
/** @type {ReturnType<typeof setTimeout> | undefined} */
let waiting;
/** @type {(set: RowOf<keyof Boards>[], gone: RowOf<keyof Boards>[]) => void} */
let changed = () => {};
/** @type {() => void} */
let reopened = () => {};

/** @param {Message} message */
function take(message) {
  heard.value = performance.now();
  notBefore(message.at);
  if (message.whole) {
    const { rows: all, ...rest } = message;
    about.value = { ...rest, lines: rest.lines ?? {} };
    rows.value = all || {};
    changed(Object.values(all || {}), []);
    return;
  }
  if (!about.value) return;
  const next = { ...rows.value };
  const gone = (message.gone || []).map((k) => next[k]).filter(Boolean);
  for (const k of message.gone || []) delete next[k];
  Object.assign(next, message.set);
  const { set, gone: _, lines, ...rest } = message;
  about.value = { ...about.value, ...rest, lines: { ...about.value.lines, ...lines } };
  rows.value = next;
  changed(Object.values(set || {}), gone);
}

function open() {
  clearTimeout(waiting);
  const at = (askedNow() || location.origin).replace(/^http/, "ws");
  const s = new WebSocket(at + "/live?board=" + board, servers.protocols()),
    old = socket;
  socket = s;
  old?.close();
  // A network that swallows everything gives neither an answer nor an error.
  const slow = setTimeout(() => {
    if (s === socket && s.readyState === WebSocket.CONNECTING) drop();
  }, patience);
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
  const at = askedNow();
  await servers.change();
  if (askedNow() !== at) return; // openAgain was called
  try {
    await get("/api/v1/me", { stay: true });
  } catch (err) {
    if (/** @type {import("./api.js").Problem} */ (err).status === 401 && link.value !== "step")
      link.value = "out";
  }
}

// beat looks whether the socket still speaks, and keeps the clock in step; a server that is slow
// to say its time may be hung, and another one be there.
function beat() {
  if (link.value === "step" && performance.now() - heard.value > silence) return drop();
  const slow = setTimeout(servers.change, unheard);
  syncClock()
    .catch(servers.change)
    .finally(() => clearTimeout(slow));
}

// watchSleep notices that this computer slept, or its clock was put: sockets do
// not outlive that, and what is shown is as much older. Pages in the background
// are slowed down by the browser, which is no sleep.
function watchSleep() {
  let wall = Date.now(),
    steady = performance.now(),
    seen = !document.hidden;
  setInterval(() => {
    const gap = Date.now() - wall,
      counted = performance.now() - steady,
      awake = seen && !document.hidden;
    wall = Date.now();
    steady = performance.now();
    seen = !document.hidden;
    if (!awake || Math.abs(gap) < nap) return;
    heard.value -= Math.max(0, gap - counted);
    if (link.value === "step") drop();
    beat();
  }, 2000);
}

// openAgain asks the server that is asked now.
export function openAgain() {
  tries = 1; // a break all the same
  link.value = "gone";
  if (isOpened) open();
}

/**
 * openBoard keeps a board in step: waits, ground or pace. onChange gets the rows
 * that were set and those that went; onReopen is called after a break. through is for a
 * page that asks other servers too: it looks for one, and says what a socket offers there.
 * @template {keyof Boards} [N="waits"]
 * @param {{name?: N, onChange?: (set: RowOf<N>[], gone: RowOf<N>[]) => void, onReopen?: () => unknown,
 *   through?: typeof servers}} [props]
 */
export function openBoard({ name, onChange, onReopen, through } = {}) {
  board = name ?? board;
  servers = through || servers;
  changed = /** @type {typeof changed} */ (onChange) ?? changed;
  reopened = onReopen || reopened;
  heard.value = performance.now();
  isOpened = true;
  open();
  setInterval(beat, heartbeat);
  watchSleep();
  addEventListener("online", () => {
    if (link.value !== "step") open();
  });
}

/**
 * isAway says that the pieces of a row are sent out: that is no work of the shop.
 * @param {{kind: string, state: string}} row
 */
export const isAway = (row) => row.kind === "work" && row.state === "outside";

/**
 * totals counts the batches of all rows; one that waits in two places counts
 * once. Late and held are of those that wait.
 * @param {{kind: string, state: string, card: string, late: boolean}[]} list
 */
export function totals(list) {
  const batches = (/** @type {(row: typeof list[number]) => boolean} */ fits) =>
    new Set(list.filter(fits).map((r) => r.card)).size;
  const waits = (/** @type {typeof list[number]} */ r) => r.kind === "wait";
  return {
    waits: batches(waits),
    late: batches((r) => waits(r) && r.late),
    held: batches((r) => waits(r) && r.state === "held"),
    works: batches((r) => r.kind === "work" && !isAway(r)),
    away: batches(isAway),
  };
}

/**
 * totalsText says them as a line.
 * @param {ReturnType<typeof totals>} t
 */
export function totalsText(t) {
  const said = [count("waits.batches", t.waits), count("waits.worked", t.works)];
  if (t.away) said.push(count("waits.away", t.away));
  if (t.late) said.push(count("waits.late", t.late));
  if (t.held) said.push(count("waits.held", t.held));
  return said.join(" · ");
}

/**
 * inOrder sorts rows by the rule: hot first, due date (none last), priority, longest wait; what
 * lacks something after all that.
 * @param {Row[]} list
 */
export function inOrder(list) {
  const due = (/** @type {Row} */ r) => r.due || "9999-99-99";
  const text = (/** @type {string} */ a, /** @type {string} */ b) => (a < b ? -1 : a > b ? 1 : 0);
  return [...list].sort(
    (a, b) =>
      Number(Boolean(a.not_ready?.length)) - Number(Boolean(b.not_ready?.length)) ||
      Number(Boolean(b.hot)) - Number(Boolean(a.hot)) ||
      text(due(a), due(b)) ||
      b.priority - a.priority ||
      Date.parse(a.since) - Date.parse(b.since) ||
      text(a.key, b.key),
  );
}

// Working time on the page: the open hours of each work centre come with the
// waits board, as pairs of Unix seconds.

/** @type {(name: string) => import("./_types.js").Schema["Centre"] | undefined} */
const centreOf = (name) => about.value?.centres.find((x) => x.work_centre === name);

/** @param {string} centre */
const hoursOf = (centre) => {
  const c = centreOf(centre);
  return c?.hours ? about.value?.hours?.[c.hours] : null;
};

/**
 * worked is the working time of a work centre between two moments, in ms; null
 * when it has no calendar, or the hours do not reach back so far.
 * @param {string} centre
 * @param {number} since
 * @param {number} t
 */
export function worked(centre, since, t) {
  const h = hoursOf(centre);
  if (!h || since < h.from * 1000 - 1000) return null;
  let sum = 0;
  for (const [from, to] of h.spans) {
    if (from * 1000 >= t) break;
    sum += Math.max(0, Math.min(to * 1000, t) - Math.max(from * 1000, since));
  }
  return sum;
}

/**
 * openAt says whether a work centre is open at a moment, and until when it is
 * or stays closed; always open without a calendar.
 * @param {string} centre
 * @param {number} t
 */
export function openAt(centre, t) {
  const h = hoursOf(centre);
  if (!h) return { open: true, until: 0 };
  for (const [from, to] of h.spans) {
    if (t < from * 1000) return { open: false, until: from * 1000 };
    if (t < to * 1000) return { open: true, until: to * 1000 };
  }
  return { open: false, until: 0 };
}

/**
 * runsAlone says whether a machine may run while its work centre is closed.
 * @param {{state?: string, work_centre: string, machine?: string}} row
 */
function runsAlone(row) {
  const c = centreOf(row.work_centre);
  const m = c?.machines.find((x) => x.machine === row.machine);
  return Boolean(m && m.unattended) && row.state === "running";
}

/**
 * openTime is how much time, in ms, between two moments a row's machine could work: without
 * closed time, unless it is outside or may run alone.
 * @param {{state?: string, work_centre: string, machine?: string}} row
 * @param {number} from
 * @param {number} to
 */
export function openTime(row, from, to) {
  const open = row.state === "outside" || runsAlone(row) ? null : worked(row.work_centre, from, to);
  return Math.max(0, open === null ? to - from : open);
}

// Whether what is shown is in step with the server, and how old it is if not.

// stale says in words what is wrong with the link, or nothing.
export function stale() {
  if (doubt.value) return say("clock.doubt.wall");
  if (link.value === "out") return say("link.out");
  if (age.value > 0) return say("link.stale", span(age.value));
  return "";
}

/** @param {{minutes?: boolean}} props */
export function LinkState({ minutes }) {
  const bad = useComputed(stale);
  const clock = useComputed(() => (minutes ? minuteText : clockText)(tick.value));
  if (bad.value)
    return html`<p class="stale" role="alert" data-test="link-state" data-state="stale">
      <${Shape} kind="gone" />
      ${bad}
    </p>`;
  return html`<p class="in-step" data-test="link-state" data-state=${link.value}>
    ${link.value === "step" ? say("link.step") : say("link.opening")} <b>${clock}</b>
  </p>`;
}
