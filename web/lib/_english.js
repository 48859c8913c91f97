// For tests in node: the English sentences that a page would bring along, and what
// every browser has and an older node has not.
import { webcrypto } from "node:crypto";
import { readFileSync } from "node:fs";
import { useWords } from "./words.js";

globalThis.crypto ??= /** @type {Crypto} */ (webcrypto);

/**
 * english takes the sentences of some groups.
 * @param {...string} groups
 */
export function english(...groups) {
  const read = (/** @type {string} */ g) =>
    JSON.parse(readFileSync(new URL(`./words/en/${g}.json`, import.meta.url), "utf8"));
  useWords(Object.assign({}, ...groups.map(read)));
}
