// Times of a history in words, and those of its parts by their names.
import { span } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/** @typedef {import("../../lib/_types.js").Schema["History"]} HistoryView */

/** @param {number | null | undefined} s */
export const days = (s) => (s === null || s === undefined ? say("none") : span(s * 1000));

/** @type {(parts: import("../../lib/_types.js").Parts, k: string) => number} */
export const partOf = (parts, k) => parts[k + "_s"];
