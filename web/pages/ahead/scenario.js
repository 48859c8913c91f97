// What is asked, as an address keeps it and as the server takes it. Without DOM.
import { fromLocal } from "../../lib/times.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * Line is a line of an enquiry as it is typed.
 * @typedef {{part: string, pieces: string | number, due?: string}} Line
 * @typedef {{from?: string, lines: Line[]}} Enquiry
 */

/**
 * readJSON reads what an address has; null for what is nothing of the kind.
 * @param {string | undefined} text
 * @returns {unknown}
 */
export function readJSON(text) {
  try {
    return text ? JSON.parse(text) : null;
  } catch {
    return null;
  }
}

/**
 * enquiryOf is an enquiry as the server takes it; null while a line lacks its part or
 * its pieces.
 * @param {Enquiry | null} v
 * @returns {Schema["EnquiryAsk"] | null}
 */
export function enquiryOf(v) {
  if (!v || !Array.isArray(v.lines) || v.lines.length === 0) return null;
  const lines = v.lines.map((l) => ({
    part: String(l?.part || ""),
    pieces: Math.floor(Number(l?.pieces)) || 0,
    ...(l?.due ? { due: String(l.due) } : {}),
  }));
  if (!lines.every((l) => l.part && l.pieces > 0)) return null;
  return { lines, ...(v.from ? { from: String(v.from) } : {}) };
}

/**
 * Change is one thing that would be otherwise, as the address keeps it: k says what.
 * @typedef {{k: string} & Record<string, string>} Change
 */

/** @type {(date: string, time: string) => string} */
const iso = (date, time) => {
  const t = fromLocal(`${date}T${time}:00`);
  return Number.isNaN(t) ? "" : new Date(t).toISOString();
};

/**
 * bodyOf is a list of changes as the server takes it; null where there is none.
 * machinesOf gives the machines that keep a calendar.
 * @param {Change[]} changes
 * @param {(calendar: string) => string[]} machinesOf
 * @returns {Schema["ScenarioAsk"] | null}
 */
export function bodyOf(changes, machinesOf) {
  const of = (/** @type {string} */ k) => changes.filter((c) => c.k === k);
  const overtime = of("overtime").flatMap((c) =>
    machinesOf(c.calendar).map((machine) => ({
      machine,
      from: iso(c.date, c.from),
      to: iso(c.to > c.from ? c.date : nextDay(c.date), c.to),
    })),
  );
  const body = {
    rule: of("rule").at(-1)?.rule,
    first: of("first").map((c) => c.card),
    overtime,
    down: of("down").map((c) => ({ machine: c.machine, from: iso(c.date, c.from), to: iso(c.until, c.to) })),
    route: of("route").map((c) => ({ card: c.card, route_rev: c.rev })),
    split: of("split").map((c) => ({ card: c.card, pieces: Number(c.pieces) })),
  };
  const said = Object.fromEntries(Object.entries(body).filter(([, v]) => (Array.isArray(v) ? v.length : v)));
  return Object.keys(said).length ? said : null;
}

/** nextDay is the date after one; empty after what is none. @type {(date: string) => string} */
const nextDay = (date) => {
  const t = Date.parse(date + "T12:00:00Z");
  return Number.isNaN(t) ? "" : new Date(t + 86400e3).toISOString().slice(0, 10);
};

/**
 * changesOf reads the list of an address.
 * @param {string | undefined} text
 * @returns {Change[]}
 */
export function changesOf(text) {
  const list = readJSON(text);
  return Array.isArray(list) ? list.filter((c) => c && typeof c.k === "string") : [];
}
