// What follows from each answer to a question, in numbers: asked of the server for the
// questions that are shown, and said in a line.
import { signal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { may } from "../../lib/shell.js";
import { span } from "../../lib/times.js";
import { count, locale, say } from "../../lib/words.js";
import { summed } from "./alike.js";

const AT_ONCE = 50, // questions in one request
  LASTS_MS = 60000; // what follows is worked out again after that

/**
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./alike.js").Question} Question
 * Followed is what follows from each answer to a question, and when that was asked.
 * @typedef {{at: number, answers: Schema["AnswerFollow"][]}} Followed
 */

const follows = signal(/** @type {Record<string, Followed>} */ ({}));
let asking = false;

/**
 * wantFollows asks what follows for questions of which that is not known, or was asked long
 * ago; no answer is no line.
 * @param {Question[]} list
 * @param {number} now a clock that nobody sets, in ms
 */
export async function wantFollows(list, now = performance.now()) {
  const old = (/** @type {Question} */ q) => now - (follows.value[q.question]?.at ?? -Infinity) > LASTS_MS;
  const wanted = list.filter(old).slice(0, AT_ONCE);
  if (asking || wanted.length === 0 || !may("settle")) return;
  asking = true;
  try {
    const questions = wanted.map((q) => ({ card: q.card, question: q.question }));
    const got = (await post("/api/v1/questions/follow", { questions })).questions;
    const fresh = got.map((f) => [f.question, { at: now, answers: f.answers }]);
    follows.value = { ...follows.value, ...Object.fromEntries(fresh) };
  } catch {
    return; // asked again with the next look
  } finally {
    asking = false;
  }
  if (list.some(old)) await wantFollows(list);
}

const signed = new Intl.NumberFormat(locale, { signDisplay: "exceptZero" });

/** @type {(s: number) => string} */
const signedSpan = (s) => (s < 0 ? "−" : "+") + span(Math.abs(s) * 1000);

/** @type {Record<string, (n: number) => string>} */
const sentences = {
  good: (n) => `${signed.format(n)} ${say("figure.good.end")}`,
  scrap: (n) => `${signed.format(n)} ${say("figure.scrap")}`,
  rework: (n) => `${signed.format(n)} ${say("figure.rework_open")}`,
  review: (n) => `${signed.format(n)} ${say("figure.review")}`,
  missing: (n) => `${signed.format(n)} ${say("figure.missing")}`,
  setup_s: (n) => say("follow.setup", signedSpan(n)),
  run_s: (n) => say("follow.run", signedSpan(n)),
};

/**
 * followText says what follows where an answer is given to questions; "" where that is
 * not known of all of them.
 * @param {Question[]} list
 * @param {string} choice
 */
export function followText(list, choice) {
  const answers = list.flatMap(
    (q) => follows.value[q.question]?.answers.find((a) => a.choice === choice) ?? [],
  );
  if (answers.length < list.length) return "";
  const s = summed(answers);
  const out = Object.keys(sentences)
    .filter((k) => s.numbers[k])
    .map((k) => sentences[k](s.numbers[k]));
  if (s.short.length === 1) {
    const b = s.short[0];
    out.push(say("follow.finishes", b.works_order || b.card, b.finishes, b.wanted));
  } else if (s.short.length > 1) out.push(count("follow.short", s.short.length));
  if (s.held) out.push(count("follow.held", s.held));
  if (s.opens) out.push(count("follow.opens", s.opens));
  if (s.refused) out.push((list.length === 1 && answers[0].refused) || count("follow.refused", s.refused));
  return out.length ? out.join(", ") : say("follow.none");
}
