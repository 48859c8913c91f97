// Asks the server what a card means here, and what is at a machine; while it does not
// answer, this station goes by what it keeps (floor.js).
import { get } from "../../web/lib/api.js";
import { now as serverNow } from "../../web/lib/clock.js";
import { refuse } from "./edge.js";
import { keepBoard, keepKnown, ownBoard, ownView, refreshFloor } from "./floor.js";
import { refreshNext } from "./next.js";
import { heard, link, notHeard } from "./outbox.js";
import { saidSince } from "./ownscans.js";
import { answer, boards, current, cutOff, me, operator, over, remembered, screen } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("./_types.js").View} View */

const PATIENCE_MS = 2500; // someone stands there and waits

/**
 * @param {string} text
 * @param {string} [title]
 */
export function no(text, title = say("say.error")) {
  refuse();
  answer.value = { kind: "refuse", title, text };
}

/**
 * Asks the server what a card means here; null when it refused. Where something said
 * here is still on its way, the server does not know it yet: then the view is this
 * station's own.
 * @param {string} ref
 * @param {boolean} aloud
 * @returns {Promise<View | null>}
 */
export async function look(ref, aloud) {
  if (link.value.alone) return ownView(ref, current.value);
  try {
    const query = /** @type {const} */ (`ref=${encodeURIComponent(ref)}${asWho("&")}`);
    const view = /** @type {Omit<View, "known"> & {known?: import("./_types.js").Sent}} */ (
      await get(`/api/v1/station/${encodeURIComponent(current.value)}/card?${query}`, {
        patience: PATIENCE_MS,
      })
    );
    heard(true);
    const { known: sent, ...seen } = view;
    if (!sent) return { ...seen, got: serverNow() }; // a server of the version before
    const known = keepKnown(sent);
    const ahead = saidSince([view.card, ref], known.seq).length > 0;
    return { ...seen, known, ...(ahead ? ownView(view.card, current.value) : { got: serverNow() }) };
  } catch (err) {
    const e = /** @type {import("../../web/lib/api.js").Problem} */ (err);
    if (e.passing) {
      notHeard(e);
      return ownView(ref, current.value);
    }
    if (aloud) no(e.detail || say("say.offline"));
    return null;
  }
}

/**
 * Who asks: steps are those that the one at the station may do.
 * @type {(sign: string) => string}
 */
const asWho = (sign) =>
  operator.value ? `${sign}operator=${encodeURIComponent(operator.value.person)}` : "";

/**
 * Asks what is at a machine, and for what this station keeps of it.
 * @param {string} id
 */
export async function refreshBoard(id) {
  if (!id || me.value === null) return;
  if (link.value.alone) return showOwnBoard(id);
  try {
    const path = /** @type {const} */ (`/api/v1/station/${encodeURIComponent(id)}${asWho("?")}`);
    const b = /** @type {import("./_types.js").Board} */ (await get(path, { patience: PATIENCE_MS }));
    heard(true);
    boards.value = { ...boards.value, [id]: { ...b, got: serverNow() } };
    keepBoard(id, b);
    await refreshFloor(id);
    refreshNext(id);
  } catch (err) {
    const e = /** @type {import("../../web/lib/api.js").Problem} */ (err);
    if (e.passing) {
      notHeard(e);
      showOwnBoard(id);
    }
    // The device is no station any more: its scans stay here until it is again.
    if (e.status === 401) noStation();
  }
}

/** The server does not know this device: it was cut off, or never was a station. */
export function noStation() {
  cutOff.value = !!remembered("known");
  me.value = null;
  over.value = "";
  screen.value = "enrol";
}

/**
 * Shows what is at a machine as this station knows it.
 * @param {string} id
 */
export function showOwnBoard(id) {
  boards.value = { ...boards.value, [id]: ownBoard(id) };
}
