// Handing over: the badge of the next operator says of each visit that runs at this
// station that it goes on, in their name. What follows of it is theirs.
import { now as serverNow } from "../../web/lib/clock.js";
import { refusal } from "./floor.js";
import { newID, sayScan, stopAsking } from "./outbox.js";
import { boards, mine, remember, remembered } from "./state.js";
import { language } from "../../web/lib/words.js";

/**
 * @typedef {import("./_types.js").View} View
 * @typedef {import("./_types.js").Operator} Operator
 * @typedef {import("./_types.js").Scanned} Scanned
 */

/** Why a visit that runs is said to run. */
export const HANDOVER = "handover";

/**
 * Hands over what runs at the machines of this station; gives what was handed over. An
 * inspector or a supervisor who comes by takes nothing over, nor does whoever had it.
 * A run that may not go on is no one's to take.
 * @param {Operator} to
 * @returns {string[]}
 */
export function handOver(to) {
  if (to.role !== "operator" || remembered("runner") === to.person) return [];
  remember("runner", to.person);
  const running = mine.value.flatMap((id) =>
    (boards.value[id]?.here || [])
      .filter((v) => v.visit_state === "running" && !v.passed)
      .map((v) => ({ v, scan: goesOn(v, id, to) })),
  );
  const fit = running.filter(({ v, scan }) => !refusal(v, scan));
  for (const { scan } of fit) {
    sayScan(scan).catch(() => {}); // a device that keeps nothing says so above
    stopAsking(scan.id);
  }
  return fit.map(({ v }) => v.works_order || v.card);
}

/** @type {(v: View, station: string, to: Operator) => Scanned & {id: string}} */
const goesOn = (v, station, to) => ({
  id: newID(serverNow()),
  ...{ station, card: v.card, action: "run", operation: v.operation, visit: v.visit },
  ...{ operator: to.person, reason: HANDOVER, language },
});
