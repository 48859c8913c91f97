// The shop's reasons, machines and routes; scans in words, and scans made at a desk.
import { signal } from "./vendor/ui.js";
import { get, post, uuid7 } from "./api.js";
import { now, within } from "./clock.js";
import { note } from "./shell.js";
import { moment } from "./times.js";
import { known, say } from "./words.js";

/**
 * Scanned is what a scan says, whoever made it.
 * @typedef {Partial<import("./_types.js").Schema["Scan"]>} Scanned
 * What becomes of sending a scan: the note when it was kept, whether it can be
 * taken back, what is done after it, and where a sentence goes that says what
 * went wrong.
 * @typedef {object} Sending
 * @property {string} [done]
 * @property {boolean} [undoable]
 * @property {() => void} [after]
 * @property {(text: string) => void} [bad]
 */

export const shop = signal(/** @type {import("./_types.js").Schema["Shop"] | null} */ (null));

const EMPTY = { machines: [], reasons: [], parts: [], seq: 0 };

/**
 * theShop is the shop; one without anything until it has been loaded.
 * @returns {import("./_types.js").Schema["Shop"]}
 */
export const theShop = () => shop.value ?? EMPTY;

export async function loadShop() {
  shop.value = await get("/api/v1/shop");
  return shop.value;
}

/**
 * reasonText is a reason in the shop's words; what is no reason of the list is
 * shown as it was said.
 * @param {string | undefined} code
 * @param {...string} kinds
 */
export function reasonText(code, ...kinds) {
  if (!code || !shop.value) return code || "";
  for (const kind of kinds) {
    const r = shop.value.reasons.find((x) => x.kind === kind && x.reason === code);
    if (r) return r.text || r.reason;
  }
  return code;
}

/** @param {string} id */
export const machineName = (id) => {
  const m = shop.value && shop.value.machines.find((x) => x.machine === id);
  return m && m.name ? m.name : "";
};

// A scan in words: what was said, with its numbers.

const losses = /** @type {const} */ (["scrap", "rework", "review"]);

/**
 * countsText says the pieces that a scan counts.
 * @param {Scanned} s
 */
function countsText(s) {
  const out = [];
  if (s.good !== undefined && s.good !== null) out.push(say("count.good", s.good));
  for (const kind of losses) {
    for (const l of s[kind] || []) {
      const why = [reasonText(l.reason, kind), l.caused_at && say("caused.at", l.caused_at)]
        .filter(Boolean)
        .join(", ");
      out.push(say("count." + kind, l.n) + (why ? ` (${why})` : ""));
    }
  }
  if (s.missing) out.push(say("count.missing", s.missing));
  if (s.pieces) out.push(say("count.pieces", s.pieces));
  if (s.reads !== undefined && s.reads !== null) out.push(say("count.reads", s.reads));
  return out.join(", ");
}

/**
 * scanText says the whole scan.
 * @param {Scanned} s
 */
export function scanText(s) {
  const reason =
    s.action === "decide" && s.for
      ? known("choice." + s.reason, s.reason || "")
      : s.action === "ready"
        ? [reasonText(s.for, "ready"), known("ready." + s.reason, s.reason || "")].filter(Boolean).join(" ")
        : reasonText(s.reason, "stop", "wait", "anyway");
  return [
    known("action." + s.action, s.action || ""),
    s.operation && say("operation.of", s.operation),
    s.phase === "setup" && say("phase.setup"),
    countsText(s),
    reason,
    s.to && say("scan.to", s.to),
    s.happened && say("scan.happened", moment(s.happened)),
    s.anyway && say("scan.anyway"),
    s.note && `“${s.note}”`,
  ]
    .filter(Boolean)
    .join(", ");
}

// Scans made at a desk: decide, correct, undo, hold, free, cancel.

const office = "office"; // the station of what is done at a desk

/**
 * desk makes a scan of what was decided here and now.
 * @param {string} action
 * @param {string} card
 * @param {Record<string, unknown>} [fields]
 */
export function desk(action, card, fields = {}) {
  const t = now() - within(); // never ahead of the server
  return {
    id: uuid7(t),
    at: new Date(t).toISOString(),
    station: office,
    card,
    action,
    present: true,
    ...fields,
  };
}

/**
 * send sends one scan and tells what became of it; true when it was kept.
 * undoable offers to take it back. What went wrong goes to bad, or to a note.
 * @param {{id: string, card: string}} scan
 * @param {Sending} [props]
 */
export const send = (scan, props) => sendAll([scan], props);

/**
 * sendAll sends scans of one batch in their order; true when all were kept. Only a
 * single one is offered to be taken back.
 * @param {{id: string, card: string}[]} scans
 * @param {Sending} [props]
 */
export async function sendAll(
  scans,
  { done, undoable = true, after, bad = (text) => note("bad", text) } = {},
) {
  let results;
  try {
    results = (await post("/api/v1/scans?now=none", { scans })).results;
  } catch (err) {
    bad(/** @type {Error} */ (err).message);
    return false;
  }
  const other = results.find((/** @type {{outcome: string, say: string}} */ r) => r.outcome !== "kept");
  const back = undoable && scans.length === 1;
  if (other) bad(say("outcome." + other.outcome, other.say));
  else
    note(
      "good",
      done || results[0].say,
      back ? { label: say("take-back"), run: () => takeBack(scans[0], after) } : undefined,
    );
  if (after) after();
  return !other;
}

/**
 * takeBack undoes a scan.
 * @param {{id: string, card: string}} scan
 * @param {(() => void) | undefined} [after]
 */
const takeBack = (scan, after) =>
  send(desk("undo", scan.card, { for: scan.id }), { done: say("taken-back"), undoable: false, after });
