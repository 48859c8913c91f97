// What this station keeps of the shop floor in the browser, to go on with while
// nothing answers: the batches of its machines with their routes, what was at each
// machine and what waited, the sentences of refusals, and whose badges were read here.
// What was said here since is added when someone looks (apply.js).
import { get } from "../../web/lib/api.js";
import { now as serverNow } from "../../web/lib/clock.js";
import { applied, knownFrom } from "./apply.js";
import { setValue, value } from "./box.js";
import { KEEP_MS } from "./consts.js";
import { misfit } from "./fits.js";
import { viewOf } from "./judge.js";
import { may } from "./steps.js";
import { practiceMachine, practising, PRACTICE_CARD } from "./practising.js";
import { practiceBatch } from "./round.js";
import { recordNow } from "./outbox.js";
import { saidSince } from "./ownscans.js";
import { boards, me, operator, shop } from "./state.js";

/**
 * @typedef {import("./_types.js").Kept} Kept
 * @typedef {import("./_types.js").Known} Known
 * @typedef {import("./_types.js").Sent} Sent
 * @typedef {import("./_types.js").View} View
 * @typedef {import("./_types.js").Wait} Wait
 * @typedef {import("./_types.js").Scanned} Scanned
 */

/** @type {Kept} */
let kept = { epoch: "", known: {}, lists: {}, texts: {}, boards: {}, people: {} };
let timer = 0;
const SAVE_MS = 500;

/** Takes what was kept before the page was loaded. */
export async function recallFloor() {
  kept = { ...kept, ...(await value("floor")) };
  for (const [code, p] of Object.entries(kept.people))
    if (Date.now() - p.at > KEEP_MS) delete kept.people[code];
  if (practising) kept = { ...kept, epoch: recordNow(), known: {}, boards: {}, lists: {} };
  boards.value = { ...kept.boards };
}

/** Lays the practice batch at the machine in front, before anyone has said a thing of it. */
export function layPractice() {
  const m = shop.value.machines.find((x) => x.machine === practiceMachine);
  const at = new Date(serverNow()).toISOString();
  const sent = practiceBatch(PRACTICE_CARD, practiceMachine, m?.work_centre || practiceMachine, at);
  kept.known = { [PRACTICE_CARD]: knownFrom(sent) };
}

function save() {
  if (timer) return;
  timer = setTimeout(() => {
    timer = 0;
    // A browser that keeps nothing more still shows what it has.
    setValue("floor", kept).catch(() => {});
  }, SAVE_MS);
}

/** What was known of another record does not go with what is sent again to this one. */
function sameRecord() {
  const epoch = recordNow();
  if (kept.epoch !== epoch) kept = { ...kept, epoch, known: {}, lists: {} };
}

/**
 * Asks for the batches of a machine, where they changed.
 * @param {string} id
 */
export async function refreshFloor(id) {
  sameRecord();
  const tag = kept.lists[id]?.tag || "";
  const a = await get(`/api/v1/station/${encodeURIComponent(id)}/known?tag=${encodeURIComponent(tag)}`);
  if (!a) return;
  const sent = /** @type {Sent[]} */ (a.known);
  for (const k of sent) kept.known[k.card] = knownFrom(k);
  const cards = sent.map((k) => k.card);
  kept.lists[id] = { tag: a.tag, cards, arrives: a.arrives };
  kept.texts = a.texts;
  const listed = new Set(Object.values(kept.lists).flatMap((l) => l.cards));
  for (const [card, k] of Object.entries(kept.known))
    if (!listed.has(card) && !saidSince([card], k.seq).length) delete kept.known[card];
  save();
}

/**
 * Keeps what the server just said of a batch, and gives it with every number in it.
 * @param {Sent} sent
 */
export function keepKnown(sent) {
  sameRecord();
  const known = knownFrom(sent);
  kept.known[sent.card] = known;
  save();
  return known;
}

/**
 * Keeps what is at a machine.
 * @param {string} id
 * @param {import("./_types.js").Board} board
 */
export function keepBoard(id, board) {
  kept.boards[id] = board;
  save();
}

/**
 * Whom a badge belongs to. The server gives no list of people, since the code of a
 * badge lends its role: a station knows those whose badge it has read.
 * @param {string} code
 * @param {string} name
 * @param {string} role
 */
export function keepPerson(code, name, role) {
  kept.people[code] = { name, role, at: Date.now() };
  save();
}

/** @param {string} code */
export const personOf = (code) => kept.people[code];

/** The role in which something is said here, as the server takes it. */
function roleHere() {
  const m = me.value;
  if (m?.how !== "station") return m?.role || "operator";
  const role = operator.value?.role || "";
  return may(role, "scan") ? role : "operator";
}

/**
 * A batch of which nothing is known but its card: what is said of it is kept, and
 * asked about later.
 * @param {string} ref
 * @param {string} id the machine
 * @returns {Known}
 */
function unknown(ref, id) {
  const m = shop.value.machines.find((x) => x.machine === id);
  const route = [
    { operation: 0, work_centre: m?.work_centre || id, setup_min: SETUP_MIN, pieces_per_cycle: 1 },
  ];
  const sent = {
    card: ref,
    seq: 0,
    part: "",
    released: "",
    started: MANY,
    wanted: 0,
    place: id,
    route,
    visits: [],
  };
  return { ...knownFrom(sent), stranger: true };
}
const MANY = 1e6; // pieces: more than anyone counts
const SETUP_MIN = 60; // where nobody knows the plan, a set-up is worth a scan

/**
 * What is known of a batch, with what was said here since.
 * @param {string} ref its card or works order
 * @param {string} id the machine that asks
 * @returns {Known}
 */
function knownOf(ref, id) {
  sameRecord();
  const found = kept.known[ref] || Object.values(kept.known).find((k) => k.works_order === ref);
  const start = found || unknown(ref, id);
  const said = saidSince([start.card, ref, start.works_order || ref], start.seq);
  const after = (/** @type {Known} */ b, /** @type {import("./_types.js").Entry} */ e) => {
    const next = applied(b, e.scan, shop.value.machines, Date.parse(e.scan.happened || "") || e.told);
    // Which operation comes after one of a stranger nobody here knows.
    return b.stranger && e.scan.action === "finish" ? start : next;
  };
  return said.reduce(after, start);
}

/**
 * The view of a batch as this station knows it.
 * @param {string} ref
 * @param {string} id
 * @returns {View}
 */
export function ownView(ref, id) {
  return shown(knownOf(ref, id), id);
}

/** @type {(b: Known, id: string) => View} */
function shown(b, id) {
  const arrives = kept.lists[id]?.arrives;
  const v = viewOf(b, shop.value.machines, id, roleHere(), { now: serverNow(), arrives });
  const [key, ...args] = v.why_key || [];
  const out = { ...v, alone: true, why: key ? textOf(key, args) : "" };
  if (!b.stranger) return out;
  return {
    ...out,
    stranger: true,
    started: 0,
    left: undefined,
    steps: out.steps?.filter((s) => PLAIN.includes(s.action)),
  };
}

/** What can be said of any card. */
const PLAIN = ["arrive", "setup", "firstoff", "run", "stop", "count", "finish", "move"];

/** @type {(key: string, args: string[]) => string} */
const textOf = (key, args) =>
  (kept.texts[key] || key).replace(/\{(\d)\}/g, (_, i) => {
    const arg = String(args[Number(i)] ?? "");
    return (key.startsWith("role") && kept.texts["role." + arg]) || arg;
  });

/**
 * The view after a scan that is being said.
 * @param {View} view
 * @param {Scanned} scan
 * @param {number} at when it happened, in ms
 * @returns {View}
 */
export function viewAfter(view, scan, at) {
  if (!view.known) return view;
  return shown(applied(view.known, scan, shop.value.machines, at), view.machine ?? "");
}

/**
 * Why a scan does not fit what this station knows, in the server's words; null where
 * it fits, or where that can't be known here.
 * @param {View | null} view
 * @param {Scanned} scan
 * @returns {{text: string, offer: boolean} | null}
 */
export function refusal(view, scan) {
  const b = view?.known;
  if (!b || b.stranger || b.unsure) return null;
  const m = misfit(b, scan, shop.value.machines, roleHere());
  return m && { text: textOf(m.key, m.args), offer: m.offer };
}

/**
 * What is at a machine and what waits, as this station knows it.
 * @param {string} id
 */
export function ownBoard(id) {
  const b = kept.boards[id] || { machine: id, here: [], waiting: [] };
  const cards = new Set([...Object.keys(kept.known), ...b.here.map((v) => v.card)]);
  const here = [...cards]
    .map((card) => ownView(card, id))
    .filter((v) => v.visit && !v.passed)
    .sort((x, y) => Date.parse(x.since ?? "") - Date.parse(y.since ?? ""));
  const waits = (/** @type {Wait} */ w) => {
    const v = kept.known[w.card] && knownOf(w.card, id);
    return !v || !v.visits.some((x) => x.operation === w.operation && x.state === "finished");
  };
  const waiting = b.waiting.filter(waits).map((w) => lacking(w, id));
  waiting.sort((x, y) => Number(lacks(x)) - Number(lacks(y)));
  return { ...b, here, waiting, got: serverNow() };
}

/** @param {Wait} w */
const lacks = (w) => (w.not_ready ?? []).length > 0;

/**
 * What waits, with what was said here to be missing for it.
 * @param {Wait} w
 * @param {string} id
 */
function lacking(w, id) {
  const o = kept.known[w.card] && knownOf(w.card, id).route.find((x) => x.operation === w.operation);
  return o?.things
    ? { ...w, not_ready: o.things.filter((t) => t.state === "missing").map((t) => t.thing) }
    : w;
}
