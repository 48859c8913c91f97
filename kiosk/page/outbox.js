// Sends what is in the box, in the order of its numbers, and tries again until
// each scan is answered, by whichever server of the record is fit. An entry is
//   {n, id, scan, state, made, present, say, offer, issued, seq, read, epoch, before}
// with state waiting, kept, question or refused; present is what the scan said
// when it was first sent. epoch names the record that the device knew when it
// made the scan, then the one that answered it. before is how it was answered,
// {outcome, seq, issued}, while it waits to be sent again because a copy of
// the record was put back that may lack it.
import { signal } from "../../web/lib/vendor/ui.js";
import { askedNow, get, post, Problem, uuid7 } from "../../web/lib/api.js";
import { addScan, allScans, dropScans, openBox, putScans, turnScans, value } from "./box.js";
import { now as serverNow, stamp } from "../../web/lib/clock.js";
import { newDeviceCode } from "./refs.js";
import { KEEP_MS, PRESENT_MS } from "./consts.js";
import { practising } from "./practising.js";
import { hasOthers, learnServers, lookAround, useServers } from "../../web/lib/servers.js";
import { noteBox, wasCleared } from "./lives.js";

/**
 * @typedef {import("./_types.js").Scanned} Scanned
 * @typedef {import("./_types.js").Entry} Entry
 * @typedef {import("./_types.js").Result} Result
 */

const AT_ONCE = 50; // scans in one request
const AGAIN_MS = 500; // while nothing answers
const SLOWEST_MS = 30000; // while something answers and takes nothing
const PROBE_MS = 3000;
const SLOW_MS = 1500; // without an answer for so long, the other servers are asked
const FOREIGN_MS = 3000;
const EPOCH_MS = 15000; // how often a station that nobody uses asks for the epoch

/** How the link stands: in step when nothing waits and the server answered. */
export const link = signal({ alone: practising, waiting: 0, since: 0, blocked: "" });
/** Counts the times that all that waited was sent. */
export const drained = signal(0);
/** Counts the times that the server did not know this device. */
export const turnedAway = signal(0);
/** Answers that came when nobody waited any more. */
export const later = signal(/** @type {Entry[]} */ ([]));

const fresh = new Map(); // number -> when it was said, by the monotonic clock
const asking = new Map(); // id -> resolve of the one who waits
let device = "";
let basis = 0;
let known = ""; // the epoch of the record
let pause = 0;
let timer = 0;
let sending = false;
let again = false; // kicked meanwhile
let urgent = false; // not to wait for the pause after a failure
let hung = new AbortController(); // ends a request that began before the server was back

/** Opens the box. own is the device code that enrolling gave, if it did. */
export async function startOutbox() {
  await openBox(refresh);
  if (practising) return;
  useServers({ onChange: changedOver, free: () => !sending && !link.value.waiting });
  known = (await value("epoch")) || "";
  await wasCleared();
  await dropOld();
  refresh();
  window.addEventListener("online", () => (kick(true), askEpoch()));
  setInterval(() => kick(false), 5000);
  setInterval(askEpoch, EPOCH_MS);
  setInterval(dropOld, 3600000);
  setInterval(probe, AGAIN_MS);
}

function dropOld() {
  const old = allScans().filter((e) => e.state !== "waiting" && Date.now() - e.made > KEEP_MS);
  return dropScans(old.map((e) => e.n));
}

// While nothing answers, looks whether it does again: what waits is gone a moment later.
let probing = false;
let probed = -AGAIN_MS; // out of turn, by the monotonic clock
async function probe() {
  if (!link.value.alone || probing) return;
  probing = true;
  try {
    if (!hasOthers() || !(await lookAround())) await get("/api/v1/clock", { patience: PROBE_MS });
    hung.abort();
    heard(true);
  } catch (e) {
    if (!(e instanceof Problem)) throw e;
  } finally {
    probing = false;
  }
}

// Another server is asked now: what the one before it has not answered is sent again.
function changedOver() {
  hung.abort();
  if (link.value.alone) return heard(true);
  askEpoch();
  kick(true);
}

// A server that is slow may be hung: then another one is asked.
function watchSlow() {
  const slow = setTimeout(lookAround, SLOW_MS);
  return () => clearTimeout(slow);
}

/**
 * The device's code: the one from enrolling, else one of its own.
 * @param {string} own
 */
export async function setDevice(own) {
  device = own || (await value("device", newDeviceCode));
  return device;
}

/**
 * The last sequence this device has seen.
 * @param {number | undefined} seq
 */
export const seen = (seq) => (basis = Math.max(basis, seq || 0));

/**
 * After a restore the record begins a new epoch: what it may lack is sent again,
 * with how it was answered. What is turned says in which epoch it stood, so that
 * a device that goes off half-way does the rest the next time.
 * @param {string | undefined} epoch
 */
export async function setEpoch(epoch) {
  if (!epoch || epoch === known) return;
  const was = known;
  known = epoch;
  basis = 0; // it counted in the record that is no more
  await turnScans((e) => sentAgain(e, was), "epoch", epoch);
  refresh();
  kick(true);
}

/**
 * What waits keeps its first answer, if it had one. What was never numbered was
 * never in a record.
 * @param {Entry} e
 * @param {string} was
 * @returns {Entry | null}
 */
function sentAgain(e, was) {
  const epoch = e.epoch || was;
  if (e.state === "waiting" || !e.seq || !epoch || epoch === known) return null;
  const before = { outcome: e.state, seq: e.seq, issued: e.issued || "" };
  return { ...e, state: "waiting", flipped: false, epoch, before };
}

/** The epoch of the record that this device knows. */
export const recordNow = () => known;

// Asks whether the record is still the one that this device knows.
async function askEpoch() {
  try {
    const me = await get("/api/v1/me");
    heard(true);
    await learnServers(me);
    await setEpoch(me.epoch);
  } catch (e) {
    if (!(e instanceof Problem)) throw e;
    if (e.status === 401) turnedAway.value++;
  }
}

/**
 * Notes whether the server answered.
 * @param {boolean} yes
 */
export function heard(yes) {
  if (link.value.alone !== yes || practising) return;
  link.value = { ...link.value, alone: !yes };
  if (!yes) return;
  askEpoch(); // a server that was away may have another record now
  kick(true);
}

/**
 * Notes that a server did not answer, or takes nothing for now; one that is not asked any more
 * is of no concern.
 * @param {Problem} e
 */
export function notHeard(e) {
  if (!e.passing || e.base !== askedNow()) return;
  heard(false);
  // At once, but a server that says it is fit and takes nothing is not asked without end.
  if (!hasOthers() || performance.now() - probed < AGAIN_MS) return;
  probed = performance.now();
  probe();
}

/**
 * Keeps a scan and sends it. The promise gives the entry once it is answered;
 * kept tells as soon as it is safe here. It fails where the browser keeps nothing.
 * @param {Scanned} fields
 * @param {(entry: Entry) => void} [kept]
 * @returns {Promise<Entry>}
 */
export async function sayScan(fields, kept) {
  const entry = await addScan((n) => {
    const at = stamp();
    const scan = { id: newID(Date.parse(at.at)), device, n, basis, ...at, ...fields };
    return { n, id: scan.id, state: "waiting", made: Date.now(), told: serverNow(), epoch: known, scan };
  });
  fresh.set(entry.n, performance.now());
  const answered = new Promise((done) => asking.set(entry.id, done));
  refresh();
  kept?.(entry);
  kick(true);
  return answered;
}

/** The id of a scan that is made now. */
export const newID = (ms = Date.now()) => uuid7(ms);

/**
 * Forgets that someone waits for an answer; it will be shown later.
 * @param {string} id
 */
export const stopAsking = (id) => asking.delete(id);

/**
 * Sends now, or when the pause after a failure is over.
 * @param {boolean} now
 */
export function kick(now) {
  if (practising) return void takeHere();
  if (now) {
    clearTimeout(timer);
    pause = 0;
    timer = 0;
  }
  if (timer) return;
  again = sending;
  urgent = sending && (urgent || now);
  if (sending) return;
  sending = true;
  alone(pass).finally(() => {
    sending = false;
    if (again) kick(urgent);
  });
}

/** In practice nothing is sent: what is said is taken here, and by nobody else. */
async function takeHere() {
  const waiting = allScans().filter((e) => e.state === "waiting");
  await putScans(waiting.map((e) => ({ ...e, state: "kept", seq: e.n, read: true })));
  waiting.forEach(settle);
  refresh();
}

/**
 * Where the browser has locks, one tab sends at a time; where it has none, a
 * scan sent twice is answered the same both times.
 * @param {() => Promise<void>} work
 */
async function alone(work) {
  await (navigator.locks ? navigator.locks.request("tallywalk-send", work) : work());
}

async function pass() {
  let sent = false;
  try {
    for (;;) {
      const waiting = allScans().filter(mayGo).slice(0, AT_ONCE);
      if (!waiting.length) break;
      await sendSome(waiting);
      refresh();
      pause = 0;
      sent = true;
    }
    if (sent) drained.value++;
    blocked("");
  } catch (e) {
    if (!(e instanceof Problem)) throw e;
    // A server that answers and takes nothing says why: its disk is full, or its clock wrong,
    // or it is closing. Another one may take it.
    if (e.status >= 500 && hasOthers()) lookAround();
    blocked(e.passing && e.status !== 503 && e.status !== 507 ? "" : e.detail);
    pause = e.status === 0 ? AGAIN_MS : Math.min(SLOWEST_MS, pause * 2 || AGAIN_MS);
    timer = setTimeout(() => ((timer = 0), kick(false)), pause);
  } finally {
    refresh();
  }
}

/**
 * What another tab has just kept is that tab's to send, while someone waits there.
 * @param {Entry} e
 */
function mayGo(e) {
  const mine = fresh.has(e.n) || !!e.before;
  return e.state === "waiting" && (mine || Date.now() - e.made > FOREIGN_MS || e.made > Date.now());
}

/** @param {string} why */
function blocked(why) {
  if (link.value.blocked !== why) link.value = { ...link.value, blocked: why };
}

/**
 * @param {Entry[]} entries
 * @returns {Promise<void>}
 */
async function sendSome(entries) {
  const scans = entries.map(asSent);
  await putScans(entries.filter((e) => e.marked).map(({ marked, ...e }) => e));
  /** @type {Result[]} */
  let results;
  let epoch = "";
  const answers = hasOthers() ? watchSlow() : () => {};
  try {
    hung = new AbortController();
    ({ results, epoch } = await post("/api/v1/scans?now=none", { scans }, { until: hung.signal }));
    heard(true);
  } catch (err) {
    const e = /** @type {Problem} */ (err);
    if (e.status === 0) notHeard(e);
    if (e.status === 401) turnedAway.value++;
    if (e.passing || e.status === 401 || e.status === 403) throw e;
    if (entries.length > 1) {
      for (const one of entries) await sendSome([one]);
      return;
    }
    results = [{ id: entries[0].id, outcome: "refused", say: e.detail, status: e.status }];
  } finally {
    answers();
  }
  await setEpoch(epoch);
  /** @type {Map<string, Result>} */
  const byID = new Map(results.map((x) => [x.id, x]));
  if (!entries.every((e) => byID.has(e.id))) throw new Problem(0);
  const done = entries.map((e) => answered(e, /** @type {Result} */ (byID.get(e.id))));
  await putScans(done);
  for (const e of done) if (e.state !== "waiting") settle(e);
}

/**
 * What a scan says of itself as present is kept before it is sent, because the
 * server tells two scans of one id apart by their bodies. One that nobody waits for
 * says so whenever it is sent.
 * @param {Entry} e
 */
function asSent(e) {
  const first = e.present === undefined;
  const present = first ? isFresh(e.n) : e.flipped ? !!e.present : false;
  e.marked = first && present;
  if (e.marked) e.present = present;
  e.now = present;
  return { ...e.scan, present, ...(e.epoch && { epoch: e.epoch }), ...(e.before && { before: e.before }) };
}

/** @type {(n: number) => boolean} */
const isFresh = (n) => fresh.has(n) && performance.now() - fresh.get(n) < PRESENT_MS;

/**
 * An entry with its answer.
 * @param {Entry} e
 * @param {Result} r
 * @returns {Entry}
 */
function answered(e, r) {
  // It arrived the first time, when someone waited for it.
  if (r.status === 409 && e.present && !e.flipped) return { ...e, flipped: true, marked: false };
  if (e.before && r.status) return asItStood(e, r);
  seen(r.seq);
  const { now, before, marked, ...entry } = e;
  // The first answer says why.
  const say = before && before.outcome === r.outcome && r.outcome !== "kept" ? e.say : r.say;
  return {
    ...entry,
    state: r.outcome,
    say,
    offer: !!r.offer,
    asks: !!r.asks,
    issued: r.issued || "",
    seq: r.seq,
    present: now,
    flipped: false,
    epoch: known,
    read: !unread(e, r, asking.get(e.id)),
  };
}

/**
 * Whoever waits for an answer has it.
 * @param {Entry} e
 */
function settle(e) {
  fresh.delete(e.n);
  asking.get(e.id)?.(e);
  asking.delete(e.id);
}

/**
 * A scan sent again that the record has in other words, or does not take: it
 * stays answered as it was.
 * @param {Entry} e
 * @param {Result} r
 */
function asItStood(e, r) {
  const { now, before, marked, ...entry } = e;
  const quiet = r.status === 409 && e.read !== false;
  return {
    ...entry,
    state: before?.outcome ?? e.state,
    epoch: known,
    read: quiet,
    say: quiet ? e.say : r.say,
  };
}

/**
 * Whether someone must still read an answer that came when nobody waited. What
 * was answered before is only news when it is answered otherwise.
 * @param {Entry} e
 * @param {Result} r
 * @param {unknown} wait
 */
function unread(e, r, wait) {
  if (!e.before) return !wait && (r.outcome !== "kept" || !!r.issued) && !e.read;
  const otherCard = !!e.before.issued && r.issued !== e.before.issued;
  return e.read === false || otherCard || (r.outcome !== "kept" && r.outcome !== e.before.outcome);
}

function refresh() {
  const all = allScans();
  const waits = all.filter((e) => e.state === "waiting");
  const [waiting, since] = [waits.length, waits[0]?.told || 0];
  if (waiting !== link.value.waiting || since !== link.value.since) {
    link.value = { ...link.value, waiting, since };
    noteBox(waiting, since);
  }
  later.value = all.filter((e) => e.read === false);
  // Another tab may have sent it.
  if (asking.size) for (const e of all) if (e.state !== "waiting" && asking.has(e.id)) settle(e);
}

/**
 * Someone read an answer that came late.
 * @param {Entry} e
 */
export async function readAnswer(e) {
  await putScans([{ ...e, read: true }]);
  refresh();
}
