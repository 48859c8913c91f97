// Sends what is in the box, in the order of its numbers, and tries again until
// each scan is answered. An entry is
//   {n, id, scan, state, made, present, say, offer, seq, read}
// with state waiting, kept, question or refused; present is what the scan said
// when it was first sent.

import { signal } from '/static/vendor/ui.js';
import { post, Trouble } from './api.js';
import { addScan, allScans, dropScan, openBox, putScan, setValue, value } from './box.js';
import { serverNow, stamp } from './clock.js';
import { KEEP_MS, PRESENT_MS } from './consts.js';
import { newDeviceCode } from './refs.js';
import { uuid7 } from '/static/uuid.js';

const AT_ONCE = 20; // scans in one request
const SLOWEST_MS = 30000;
const FOREIGN_MS = 3000;

/** How the link stands: in step when nothing waits and the server answered. */
export const link = signal({ alone: false, waiting: 0, blocked: '' });
/** Answers that came when nobody waited any more. */
export const later = signal([]);

const fresh = new Map(); // number -> when it was said, by the monotonic clock
const asking = new Map(); // id -> resolve of the one who waits
let device = '';
let basis = 0;
let pause = 0;
let timer = 0;
let sending = false;
let again = false;

/** Opens the box. own is the device code that enrolling gave, if it did. */
export async function startOutbox() {
  await openBox();
  for (const e of await allScans()) {
    if (e.state !== 'waiting' && Date.now() - e.made > KEEP_MS) await dropScan(e.n);
  }
  await refresh();
  window.addEventListener('online', () => kick(true));
  setInterval(() => kick(false), 5000);
}

/** The device's code: the one from enrolling, else one of its own. */
export async function setDevice(own) {
  device = own || (await value('device', newDeviceCode));
  return device;
}

/** The last sequence this device has seen. */
export const seen = (seq) => (basis = Math.max(basis, seq || 0));

/** After a restore the record begins a new epoch: what it lost is sent again. */
export async function setEpoch(epoch) {
  const before = await value('epoch');
  await setValue('epoch', epoch);
  if (!before || before === epoch) return;
  for (const e of await allScans()) {
    if (e.state !== 'waiting') await putScan({ ...e, state: 'waiting', flipped: false });
  }
  await refresh();
  kick(true);
}

/** Notes whether the server answered. */
export function heard(yes) {
  if (link.value.alone === yes) link.value = { ...link.value, alone: !yes };
}

/**
 * Keeps a scan and sends it. The promise gives the entry once it is answered;
 * kept tells as soon as it is safe here.
 */
export async function sayScan(fields, kept) {
  const entry = await addScan((n) => {
    const at = stamp();
    const id = uuid7(Date.parse(at.at));
    return { n, id, state: 'waiting', made: Date.now(), told: serverNow(), scan: { id, device, n, basis, ...at, ...fields } };
  });
  fresh.set(entry.n, performance.now());
  const answered = new Promise((done) => asking.set(entry.id, done));
  kept?.(entry);
  await refresh();
  kick(true);
  return answered;
}

/** Forgets that somebody waits for an answer; it will be shown later. */
export const stopAsking = (id) => asking.delete(id);

/** Sends now, or when the pause after a failure is over. */
export function kick(now) {
  if (now) {
    clearTimeout(timer);
    pause = 0;
    timer = 0;
  }
  if (timer) return;
  again = sending;
  if (sending) return;
  sending = true;
  alone(pass).finally(() => {
    sending = false;
    if (again) kick(false);
  });
}

// Where the browser has locks, one tab sends at a time; where it has none, a
// scan sent twice is answered the same both times.
async function alone(work) {
  await (navigator.locks ? navigator.locks.request('tallywalk-send', work) : work());
}

async function pass() {
  try {
    for (;;) {
      const waiting = (await allScans()).filter(mayGo).slice(0, AT_ONCE);
      if (!waiting.length) break;
      await sendSome(waiting);
      pause = 0;
    }
    blocked('');
  } catch (e) {
    if (!(e instanceof Trouble)) throw e;
    blocked(e.passing ? '' : e.detail);
    pause = Math.min(SLOWEST_MS, pause * 2 || 1000);
    timer = setTimeout(() => ((timer = 0), kick(false)), pause);
  } finally {
    await refresh();
  }
}

// What another tab has just kept is that tab's to send, while somebody waits there.
const mayGo = (e) => e.state === 'waiting' && (fresh.has(e.n) || Date.now() - e.made > FOREIGN_MS || e.made > Date.now());

function blocked(why) {
  if (link.value.blocked !== why) link.value = { ...link.value, blocked: why };
}

async function sendSome(entries) {
  const scans = [];
  for (const e of entries) scans.push(await asSent(e));
  let results;
  try {
    ({ results } = await post('/api/v1/scans', { scans }));
    heard(true);
  } catch (e) {
    if (e.status === 0) heard(false);
    if (e.passing || e.status === 401 || e.status === 403) throw e;
    if (entries.length > 1) {
      for (const one of entries) await sendSome([one]);
      return;
    }
    results = [{ id: entries[0].id, outcome: 'refused', say: e.detail, status: e.status }];
  }
  for (const e of entries) {
    const r = results.find((x) => x.id === e.id);
    if (!r) throw new Trouble(0, '');
    await answered(e, r);
  }
}

// What a scan says of itself as present is kept before it is sent, because the
// server tells two scans of one id apart by their bodies.
async function asSent(e) {
  const first = e.present === undefined;
  const present = first ? isFresh(e.n) : e.flipped ? e.present : false;
  if (first) {
    e.present = present;
    await putScan(e);
  }
  e.now = present;
  return { ...e.scan, present };
}

const isFresh = (n) => fresh.has(n) && performance.now() - fresh.get(n) < PRESENT_MS;

async function answered(e, r) {
  if (r.status === 409 && e.present && !e.flipped) {
    // It arrived the first time, when somebody waited for it.
    await putScan({ ...e, flipped: true });
    return;
  }
  seen(r.seq);
  const wait = asking.get(e.id);
  const late = !wait && r.outcome !== 'kept' && e.state === 'waiting' && !e.read;
  const { now, ...entry } = e;
  const done = { ...entry, state: r.outcome, say: r.say, offer: !!r.offer, asks: !!r.asks, issued: r.issued || '', seq: r.seq, present: now, flipped: false, read: !late };
  await putScan(done);
  fresh.delete(e.n);
  asking.delete(e.id);
  wait?.(done);
}

async function refresh() {
  const all = await allScans();
  const waiting = all.filter((e) => e.state === 'waiting').length;
  if (waiting !== link.value.waiting) link.value = { ...link.value, waiting };
  later.value = all.filter((e) => e.read === false);
  for (const e of all) {
    // Another tab may have sent it.
    if (e.state !== 'waiting' && asking.has(e.id)) {
      asking.get(e.id)(e);
      asking.delete(e.id);
    }
  }
}

/** What waits here to be said of a card. */
export async function waitingFor(card) {
  return (await allScans()).filter((e) => e.state === 'waiting' && e.scan.card === card).map((e) => e.scan);
}

/** Somebody read an answer that came late. */
export async function readAnswer(e) {
  await putScan({ ...e, read: true });
  await refresh();
}

/** The latest scan of this device that can still be taken back. */
export async function lastOwn(lasts) {
  const now = serverNow();
  const all = await allScans();
  const undone = new Set(all.filter((e) => e.scan.action === 'undo' && e.state !== 'refused').map((e) => e.scan.for));
  return all.reverse().find((e) => e.state !== 'refused' && e.scan.action !== 'undo' && !undone.has(e.id) && now - e.told < lasts);
}
