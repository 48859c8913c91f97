// Who is at the station: said by a badge, shown always. The station forgets at the end
// of the shift or after a set time, warns first, and whatever is scanned or tapped then
// keeps the one who is there. Reading the next badge hands running visits over.
import { get } from "../../web/lib/api.js";
import { now as serverNow } from "../../web/lib/clock.js";
import { BADGE_WARN_MS } from "./consts.js";
import { accept, refuse } from "./edge.js";
import { keepPerson, personOf } from "./floor.js";
import { handOver } from "./handover.js";
import { thereUntil } from "./moments.js";
import { notHeard } from "./outbox.js";
import { practising } from "./practising.js";
import { answer, boards, mine, operator, remember, remembered } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("./_types.js").Operator} Operator */

const PATIENCE_MS = 2500; // someone stands there

/** After a reload. */
export function recallOperator() {
  operator.value = remembered("operator");
}

/** When the shift at these machines ends, in ms since 1970; where they differ the last one. */
const shiftEnd = () =>
  Math.max(0, ...mine.value.map((id) => Date.parse(boards.value[id]?.shift_ends || "") || 0));

/** Forgets whose time is over. A shift that ends sooner than was thought ends it sooner. */
export function watchOperator() {
  const o = operator.value;
  if (!o) return;
  const now = serverNow();
  if (o.until <= now) return leave();
  const until = thereUntil(now, shiftEnd());
  if (!o.kept && until < o.until) stay({ ...o, until });
}

/** @param {Operator} o */
export const isSoon = (o) => o.until - serverNow() < BADGE_WARN_MS;

/** Someone scanned or tapped: whoever is about to be forgotten stays. */
export function keepOperator() {
  const o = operator.value;
  if (o && isSoon(o)) stay({ ...o, until: thereUntil(serverNow(), shiftEnd()), kept: true });
}

/** @param {Operator} o */
function stay(o) {
  operator.value = o;
  remember("operator", o);
}

/** Any press keeps the one who is there; what is scanned does so too (flow.js). */
export function watchTaps() {
  document.addEventListener("pointerdown", keepOperator, { capture: true, passive: true });
}

export function leave() {
  operator.value = null;
  remember("operator", null);
}

/**
 * A badge was read.
 * @param {string} code
 */
export async function badge(code) {
  accept(say("edge.read"));
  if (practising) return greet({ person: code, name: say("practice.person"), role: "operator" });
  /** @type {{code?: string, name?: string, person?: string, role?: string}} */
  let person = { ...personOf(code), code };
  try {
    person = await get(`/api/v1/people/${encodeURIComponent(code)}`, { patience: PATIENCE_MS });
    keepPerson(code, person.name || person.person || code, person.role || "");
  } catch (err) {
    const e = /** @type {import("../../web/lib/api.js").Problem} */ (err);
    if (!e.passing) {
      refuse();
      answer.value = { kind: "refuse", title: say("say.error"), text: e.detail || say("say.person", code) };
      return;
    }
    // Nothing answers: the badge itself says enough for the record.
    notHeard(e);
  }
  greet({ person: person.code || code, name: person.name || person.person || code, role: person.role });
}

/** @param {{person: string, name: string, role?: string}} someone */
function greet(someone) {
  const who = { ...someone, until: thereUntil(serverNow(), shiftEnd()) };
  stay(who);
  const theirs = handOver(who);
  accept(theirs.length ? say("badge.takes", who.name, theirs.join(", ")) : say("badge.hello", who.name));
}
