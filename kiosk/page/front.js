// What is open at this station: the machine in front, the batch that was scanned, who
// is there and what that one can take back.
import { effect } from "../../web/lib/vendor/ui.js";
import { UNDO_MS } from "./consts.js";
import { accept } from "./edge.js";
import { look, no, refreshBoard } from "./look.js";
import { isOwn } from "./moments.js";
import { stopAsking } from "./outbox.js";
import { lastOwn } from "./ownscans.js";
import { practising, PRACTICE_CARD } from "./practising.js";
import { parseRef } from "./refs.js";
import {
  answer,
  asked,
  current,
  mine,
  note,
  open,
  operator,
  over,
  own,
  remember,
  screen,
  when,
} from "./state.js";
import { say } from "../../web/lib/words.js";

/**
 * @typedef {import("./_types.js").Step} Step
 * @typedef {import("./_types.js").View} View
 */

// Answers that the one who stands there waits for.
export const awaited = new Set();

/**
 * The machines this device is for.
 * @param {string[]} ids
 * @param {string} [front]
 */
export function useMachines(ids, front = ids[0]) {
  mine.value = ids;
  remember("machines", ids);
  goTo(front);
}

/**
 * Begins to work at machines that were chosen.
 * @param {string[]} ids
 * @param {string} [front]
 */
export function begin(ids, front = ids[0]) {
  useMachines(ids, front);
  screen.value = "work";
  over.value = "";
}

/**
 * Puts one of them in front.
 * @param {string} id
 */
export function goTo(id) {
  if (current.value !== id) close();
  current.value = id;
  remember("machine", id);
  refreshBoard(id);
}

/** Closes the batch that is open. */
export function close() {
  open.value = asked.value = answer.value = null;
  when.value = null;
  note.value = "";
  remember("front", null);
  // Whoever goes on to something else reads the answer when it comes.
  awaited.forEach(stopAsking);
  awaited.clear();
}

/**
 * A card was read, tapped or typed. It is false where that batch is not in front then.
 * @param {string} ref
 * @param {number} [op]
 */
export async function openCard(ref, op = 0) {
  if (practising !== (parseRef(ref).code === PRACTICE_CARD)) {
    no(say(practising ? "practice.othercard" : "practice.card"));
    return false;
  }
  accept(say("edge.read"));
  return bring(ref, op);
}

const FRONT_MS = 12 * 3600000;

/**
 * After a reload: what was open is open again.
 * @param {{card: string, op: number, machine: string, at: number} | null} before
 */
export async function reopen(before) {
  if (!before || before.machine !== current.value || Date.now() - before.at > FRONT_MS) return;
  await bring(before.card, before.op);
}

/**
 * @param {string} ref
 * @param {number} op
 */
async function bring(ref, op) {
  over.value = "";
  // What is no whole code may have lost a key: what is open stays until the
  // server has found it.
  const stays = parseRef(ref).code ? null : open.value;
  if (!stays) {
    close();
    open.value = { card: ref, scanned: op, looking: true };
  }
  const front = stays ? stays.card : ref;
  const view = await look(ref, true);
  if (open.value?.card !== front) return false;
  if (view && stays) close();
  if (view) show({ ...view, scanned: op });
  else if (!stays) open.value = null;
  return !!view;
}

/**
 * Shows a view of a batch; it is open again after a reload.
 * @param {View} view
 */
export function show(view) {
  if (open.value?.card !== view.card || open.value.looking) {
    const front = { card: view.card, op: view.scanned || 0, machine: current.value, at: Date.now() };
    remember("front", front);
  }
  open.value = view;
}

/** Someone else is at the station: what was offered was offered to another. */
export function watchWho() {
  let before = operator.value?.person;
  effect(() => {
    const now = operator.value?.person;
    if (now === before) return;
    before = now;
    own.value = null;
    whoChanged();
  });
}

async function whoChanged() {
  refreshOwn();
  const view = open.value;
  if (!view || view.looking) return refreshBoard(current.value);
  const fresh = await look(view.card, false);
  if (!fresh || open.value?.card !== view.card) return;
  const still = (/** @type {Step} */ s) =>
    s.key === asked.value?.key && s.operation === asked.value?.operation;
  if (asked.value && !(fresh.steps || []).some(still)) asked.value = null;
  show({ ...fresh, scanned: view.scanned });
}

/** Looks again at what is open, and at the machine. */
export async function refreshOpen() {
  const before = open.value;
  refreshBoard(current.value);
  if (!before || before.looking) return;
  const view = await look(before.card, false);
  if (view && open.value?.card === before.card && !asked.value) show({ ...view, scanned: before.scanned });
}

/** Looks which own scan can be taken back. */
export function refreshOwn() {
  const e = lastOwn(UNDO_MS);
  const mineNow = isOwn(e ?? null, operator.value) ? (e ?? null) : null;
  if (mineNow?.id !== own.value?.id) own.value = mineNow;
}
