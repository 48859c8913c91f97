// Questions that are alike stand together: the same kind and cause, with the same answers.
// What follows from an answer, added up. No DOM here.

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Question"]} Question
 * @typedef {{key: string, list: Question[]}} Group
 */

/**
 * keyOf names what makes questions alike.
 * @param {Question} q
 */
const keyOf = (q) => [q.kind, q.cause, q.choices.join()].join("|");

/**
 * alike puts questions together that are alike, the largest number first; of as many, those
 * that were asked last.
 * @param {Question[]} list
 * @returns {Group[]}
 */
export function alike(list) {
  const groups = /** @type {Map<string, Question[]>} */ (new Map());
  for (const q of list) {
    const key = keyOf(q);
    groups.set(key, [...(groups.get(key) ?? []), q]);
  }
  return [...groups]
    .map(([key, all]) => ({ key, list: all }))
    .sort((a, b) => b.list.length - a.list.length || Date.parse(b.list[0].at) - Date.parse(a.list[0].at));
}

/**
 * firstOf takes groups until they hold so many questions, or there are no more.
 * @template {Group} G
 * @param {G[]} groups
 * @param {number} most
 * @returns {G[]}
 */
export function firstOf(groups, most) {
  let n = 0;
  return groups.filter((g) => {
    const fits = n < most;
    n += g.list.length;
    return fits;
  });
}

export const FILTERS = ["kind", "machine", "person"];

/** @type {Record<string, (q: Question) => string>} */
const facets = { kind: (q) => q.kind, machine: (q) => q.machine || "", person: (q) => q.who || "" };

/**
 * narrowed is the questions that fit what is chosen of kind, machine and person.
 * @param {Question[]} list
 * @param {Record<string, string>} by
 */
export const narrowed = (list, by) =>
  list.filter((q) => FILTERS.every((f) => !by[f] || facets[f](q) === by[f]));

/**
 * valuesOf lists what there is to choose of a facet.
 * @param {Question[]} list
 * @param {string} facet
 * @returns {string[]}
 */
export const valuesOf = (list, facet) => [...new Set(list.map(facets[facet]).filter(Boolean))].sort();

const NUMBERS = /** @type {const} */ (["good", "scrap", "rework", "review", "missing", "setup_s", "run_s"]);

/**
 * summed adds up what follows where the same answer is given to several questions, each by
 * itself: by how much numbers change, which batches are held or finish short then, how many
 * questions that opens, and of how many the answer would be refused.
 * @param {Schema["AnswerFollow"][]} answers
 */
export function summed(answers) {
  /** @type {Record<string, number>} */
  const numbers = {};
  const held = /** @type {Set<string>} */ (new Set()),
    short = /** @type {Map<string, Schema["BatchFollow"]>} */ (new Map());
  for (const a of answers)
    for (const b of a.batches) {
      for (const k of NUMBERS) if (b[k]) numbers[k] = (numbers[k] ?? 0) + b[k];
      if (b.held) held.add(b.card);
      if (b.finishes < Math.min(b.wanted, b.finishes_now)) short.set(b.card, b);
    }
  return {
    numbers,
    held: held.size,
    short: [...short.values()],
    opens: answers.reduce((n, a) => n + a.opens, 0),
    refused: answers.filter((a) => a.refused).length,
  };
}
