// All text that people read on the pages. The server chooses the language and
// puts its sentences into the page: web/lib/words, a folder for each language.
// {0}, {1} ... stand for what is filled in. A sentence that counts has the
// plural forms of its language after a dot: .one, .other.
const page = globalThis.document;
const own = page?.getElementById?.("words");

/** @type {Record<string, string>} */
let words = own ? JSON.parse(own.textContent ?? "{}") : {};

// language is the page's, and everything on it follows it.
export const language = page?.documentElement?.lang || "en";

// languages are those that this page can be had in.
export const languages = (page?.documentElement?.dataset?.languages || language).split(" ");

// locale is how numbers, times and dates are written.
export const locale = language === "en" ? "en-GB" : language;

const plural = new Intl.PluralRules(locale);

/**
 * useWords takes the sentences where no page brought them: in tests.
 * @param {Record<string, string>} all
 */
export function useWords(all) {
  words = all;
}

/** @type {(text: string, args: unknown[]) => string} */
const fill = (text, args) => text.replace(/\{(\d)\}/g, (_, i) => String(args[Number(i)] ?? ""));

/**
 * say is a sentence; a key without one shows as it is.
 * @param {string} key
 * @param {...unknown} args
 */
export const say = (key, ...args) => fill(words[key] ?? key, args);

/**
 * known is a sentence if there is one, else what is given.
 * @param {string} key
 * @param {string} other
 * @param {...unknown} args
 */
export const known = (key, other, ...args) => fill(words[key] ?? other, args);

/**
 * count is a sentence for n things: {0} is n.
 * @param {string} key
 * @param {number} n
 * @param {...unknown} args
 */
export function count(key, n, ...args) {
  return fill(words[`${key}.${plural.select(n)}`] ?? words[key + ".other"] ?? key, [n, ...args]);
}

/**
 * stateWord is the word of a state of a batch, a visit or a queue, the same on
 * all pages; a new one shows as it comes.
 * @param {string} [state]
 */
export const stateWord = (state) => (state ? known("state." + state, state) : "");
