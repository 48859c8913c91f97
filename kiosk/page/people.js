// Who is at the station: said by a badge, shown always, forgotten after a set
// time or at a tap.
import { get } from "../../web/lib/api.js";
import { BADGE_MS, BADGE_WARN_MS } from "./consts.js";
import { accept, refuse } from "./edge.js";
import { keepPerson, personOf } from "./floor.js";
import { heard } from "./outbox.js";
import { operator, remember, remembered, told } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("./types.js").Operator} Operator */

const PATIENCE_MS = 2500; // someone stands there

/** After a reload. */
export function recallOperator() {
  const o = remembered("operator");
  if (o && o.until > Date.now()) operator.value = o;
}

/** Forgets whose time is over. */
export function watchOperator() {
  if (operator.value && operator.value.until <= Date.now()) leave();
}

/** @param {Operator} o */
export const isSoon = (o) => o.until - Date.now() < BADGE_WARN_MS;

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
  /** @type {{code?: string, name?: string, person?: string, role?: string}} */
  let person = { ...personOf(code), code };
  try {
    person = await get("/api/v1/people/" + encodeURIComponent(code), { patience: PATIENCE_MS });
    keepPerson(code, person.name || person.person || code, person.role || "");
  } catch (err) {
    const e = /** @type {import("../../web/lib/api.js").Problem} */ (err);
    if (!e.passing) {
      refuse();
      told.value = { kind: "refuse", title: say("say.error"), text: e.detail || say("say.person", code) };
      return;
    }
    // Nothing answers: the badge itself says enough for the record.
    heard(false);
  }
  operator.value = {
    person: person.code || code,
    name: person.name || person.person || code,
    role: person.role,
    until: Date.now() + BADGE_MS,
  };
  remember("operator", operator.value);
  accept(say("badge.hello", operator.value.name));
}
