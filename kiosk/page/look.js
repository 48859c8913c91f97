// Asks the server: what a card means here, and what is at a machine. While it does
// not answer, the last view of this station is carried on (predict.js).
import { get } from "../../web/lib/api.js";
import { now as serverNow } from "../../web/lib/clock.js";
import { refuse } from "./edge.js";
import { heard, waitingFor } from "./outbox.js";
import { plainView, predicted } from "./predict.js";
import { boards, current, me, operator, screen, told } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("./types.js").View} View */

/**
 * What this station saw of a card last, at the machine in front.
 * @param {string} ref
 * @returns {View | undefined}
 */
function knownView(ref) {
  const b = boards.value[current.value];
  const v = b?.here.find((/** @type {View} */ x) => x.card === ref || x.works_order === ref);
  return v && { ...v, got: b.got, alone: true };
}

/**
 * @param {string} text
 * @param {string} [title]
 */
export function no(text, title = say("say.error")) {
  refuse();
  told.value = { kind: "refuse", title, text };
}

/**
 * Asks the server what a card means here; null when it refused.
 * @param {string} ref
 * @param {boolean} aloud
 * @returns {Promise<View | null>}
 */
export async function look(ref, aloud) {
  try {
    const view = await get(
      `/api/v1/station/${encodeURIComponent(current.value)}/card?ref=${encodeURIComponent(ref)}${asWho("&")}`,
    );
    heard(true);
    // What waits here the server does not know yet: it may answer and yet take nothing.
    return (await waitingFor(view.card)).reduce(predicted, { ...view, got: serverNow() });
  } catch (err) {
    const e = /** @type {import("../../web/lib/api.js").Problem} */ (err);
    if (e.passing) {
      heard(false);
      const known = knownView(ref) || plainView(ref);
      return (await waitingFor(known.card)).reduce(predicted, known);
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
 * Asks what is at a machine.
 * @param {string} id
 */
export async function refreshBoard(id) {
  if (!id || me.value === null) return;
  try {
    const b = await get("/api/v1/station/" + encodeURIComponent(id) + asWho("?"));
    heard(true);
    boards.value = { ...boards.value, [id]: { ...b, got: serverNow() } };
  } catch (err) {
    const e = /** @type {import("../../web/lib/api.js").Problem} */ (err);
    if (e.passing) heard(false);
    // The device is no station any more: its scans stay here until it is again.
    if (e.status === 401) {
      me.value = null;
      screen.value = "enrol";
    }
  }
}
