// All text that people read on the pages, by language. {0}, {1} ... stand for
// what is filled in. A sentence that counts has the plural forms of its
// language after a dot: .one, .other.
import {en} from "/static/words-en.js";

const catalogues = {en};
const language = (navigator.languages || []).map((l) => l.slice(0, 2)).find((l) => catalogues[l]) || "en";
const words = catalogues[language];
const plural = new Intl.PluralRules(language);

// locale is how times and dates are written.
export const locale = language === "en" ? "en-GB" : language;

const fill = (text, args) => text.replace(/\{(\d)\}/g, (_, i) => String(args[i] ?? ""));

// say is a sentence; one that a language lacks is said in English.
export const say = (key, ...args) => fill(words[key] ?? en[key] ?? key, args);

// known is a sentence if there is one, else what is given.
export const known = (key, other) => words[key] ?? en[key] ?? other;

// count is a sentence for n things: {0} is n.
export function count(key, n, ...args) {
  const form = `${key}.${plural.select(n)}`;
  return fill(words[form] ?? words[key + ".other"] ?? en[form] ?? en[key + ".other"] ?? key, [n, ...args]);
}
