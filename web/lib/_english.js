// For tests in node: the English sentences that a page would bring along.
import { readFileSync } from "node:fs";
import { useWords } from "./words.js";

/**
 * english takes the sentences of some groups.
 * @param {...string} groups
 */
export function english(...groups) {
  const read = (/** @type {string} */ g) =>
    JSON.parse(readFileSync(new URL(`./words/en/${g}.json`, import.meta.url), "utf8"));
  useWords(Object.assign({}, ...groups.map(read)));
}
