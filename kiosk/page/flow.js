// What happens when something is read or pressed: cards, plates, badges and codes,
// steps said and taken back, what is open looked at again.
import { stepWord } from "./said.js";
import { effect } from "../../web/lib/vendor/ui.js";
import { post } from "../../web/lib/api.js";
import { now as serverNow } from "../../web/lib/clock.js";
import { CODES } from "./codes.js";
import { parseRef } from "./refs.js";
import { TEST_CARD } from "./consts.js";
import { accept, ask, hear, refuse } from "./edge.js";
import { GUARD_MS } from "./guard.js";
import { awaited, begin, close, goTo, openCard, refreshOpen, refreshOwn, show } from "./front.js";
import { keyRead, wanted } from "./keys.js";
import { happened, spokenBy, undoScan } from "./moments.js";
import { refusal, viewAfter } from "./floor.js";
import { heard, kick, link, newID, sayScan, setEpoch, stopAsking } from "./outbox.js";
import { badge, keepOperator } from "./people.js";
import { compare, keepRhythm, learn } from "./scanner.js";
import {
  answer,
  asked,
  current,
  me,
  mine,
  note,
  open,
  operator,
  over,
  own,
  plated,
  remember,
  screen,
  shop,
  when,
} from "./state.js";
import { pickNamed, whenWord } from "./when.js";
import { language, say } from "../../web/lib/words.js";
import { no, showOwnBoard } from "./look.js";

/**
 * @typedef {import("./_types.js").Step} Step
 * @typedef {import("./_types.js").View} View
 * @typedef {import("./_types.js").Scanned} Scanned
 * @typedef {import("./_types.js").Entry} Entry
 * @typedef {import("./_types.js").Answer} Answer
 * @typedef {import("./_types.js").Read} Read
 */

const EARLY_MS = 60000; // how long a step that was read before its card waits for it
/** @type {{code: string, name: string, who: string} | null} */
let early = null;
let lapse = 0;

const whoIsHere = () => operator.value?.person || "";

/** A step that was read before its card is not said, once anything else is opened. */
function dropEarly() {
  clearTimeout(lapse);
  early = null;
}
effect(() => void (open.value && dropEarly()));

/**
 * Keeps a step until its card is read, and says so where none was.
 * @param {string} code
 * @param {string} name
 */
function keepEarly(code, name) {
  dropEarly();
  early = { code, name, who: whoIsHere() };
  lapse = setTimeout(() => {
    dropEarly();
    no(say("say.nocard"), say("say.refused") + ": " + say(name));
  }, EARLY_MS);
  accept(say("say.early", say(name)));
}

let lastRead = { text: "", at: -Infinity };

/**
 * A scanner read something; a scanner that reads on its own reads it twice.
 * @param {string} text
 * @param {Read} read
 */
export function onRead(text, read) {
  const map = compare(read.tokens);
  if (map) return learnt(map, read);
  if (over.value === "learn") return notLearnt(read.tokens);
  keepOperator();
  const at = performance.now();
  const twice = text === lastRead.text && at - lastRead.at < GUARD_MS && wanted() === "press";
  lastRead = { text, at };
  if (twice) return;
  const ref = parseRef(text);
  if (me.value === null) return keyRead(enrolCode(text));
  if (!ref.code && /^https?:/i.test(text)) return onBroken();
  switch (ref.code?.[0]) {
    case "P":
      return badge(ref.code);
    case "M":
      return plate(ref.code);
    case "A":
      return action(ref.code);
    case "D":
      return no(say("say.device"));
  }
  if (!current.value) return no(say("say.nomachine"));
  if (asked.value?.needs === "sibling" && open.value?.siblings?.some((s) => s.card === ref.code))
    return submit(asked.value, { for: ref.code });
  return cardRead(ref.code || ref.text || text, ref.op || 0);
}

/**
 * A card was read. What was read of the action sheet just before is said of it.
 * @param {string} ref
 * @param {number} op
 */
async function cardRead(ref, op) {
  const first = early;
  // Whoever had not said yet who it is may do so in between; another's step is not meant.
  const meant = first && (!first.who || first.who === whoIsHere());
  dropEarly();
  if ((await openCard(ref, op)) && meant) action(first.code);
}

/** A scan came in parts, or with keys lost. */
export const onBroken = () => no(say("say.broken"));

/**
 * @param {Record<string, string>} map
 * @param {Read} read
 */
function learnt(map, read) {
  learn(map);
  keepRhythm(read, true);
  accept(say(Object.keys(map).length ? "learn.done" : "learn.plain"));
  if (over.value === "learn") over.value = "";
}

/** @param {string[]} tokens */
function notLearnt(tokens) {
  refuse();
  answer.value = {
    kind: "refuse",
    title: say("learn.title"),
    text: say("learn.bad", tokens.length, TEST_CARD.length),
  };
}

/**
 * A machine's plate: the station is at that machine now. Whether a machine that is new
 * to it comes beside the others or takes their place is asked.
 * @param {string} code
 */
function plate(code) {
  const m = shop.value.machines.find((x) => x.code === code);
  if (!m) return no(say("choose.wrong", code));
  if (screen.value === "work" && !mine.value.includes(m.machine)) {
    plated.value = m;
    over.value = "plate";
    return hear();
  }
  if (over.value === "plate") over.value = "";
  if (screen.value === "work") goTo(m.machine);
  else begin([m.machine]);
  accept(say("machine.now", m.name));
}

const FOR_INSPECTORS = ["hold", "free", "decide", "concession"];

/**
 * Which step a code of an action sheet means, where it is not the action of its name.
 * @type {Record<string, (s: Step) => unknown>}
 */
const MEANS = {
  stop: (s) => s.action === "stop" && s.key !== "wait",
  wait: (s) => s.key === "wait",
  count: (s) => s.action === "count" && s.phase !== "setup",
  "count.setup": (s) => s.phase === "setup",
  decide: (s) => s.action === "decide" && s.reason !== "concession",
  concession: (s) => s.reason === "concession",
  pass: (s) => s.needs === "verdict",
};

// A reason that nothing asks for: that something is missing is said at once.
/** @param {{kind: string, reason: string, text: string}} why */
function bare(why) {
  const step = why.kind === "ready" && open.value?.steps?.find((s) => s.needs === "ready");
  if (!step) return no(say("say.noask", why.text));
  submit(step, { for: why.reason, reason: "missing" });
}

/**
 * The code of an action sheet was read.
 * @param {string} code
 */
function action(code) {
  const why = shop.value?.reasons.find((r) => r.sheet === code);
  if (why) return keyRead(`why:${why.kind}:${why.reason}`) ? undefined : bare(why);
  const name = /** @type {Record<string, string>} */ (CODES)[code];
  if (!name) return no(say("say.code", code));
  if (name.startsWith("when.")) return pickTime(name.slice(5));
  if (name.startsWith("outcome."))
    return keyRead(name) ? undefined : no(say("say.noask", say(name.slice(8))));
  if (name === "undo" || (name === "key.back" && early)) return takeBack();
  if (/^(\d|key\..*)$/.test(name)) return keyRead(name) ? undefined : no(say("say.nocard"));
  if (asked.value && keyRead(name)) return;
  if (!open.value) return keepEarly(code, name);
  const means = MEANS[name] || ((/** @type {Step} */ s) => s.action === name);
  /** @type {Step[]} */
  const steps = (open.value.steps || []).filter(means);
  const step = steps.find((s) => s.likely) || steps[0];
  if (!step)
    return no(say(FOR_INSPECTORS.includes(name) ? "say.who" : "say.nostep", say(name)), say("edge.refused"));
  if (name === "pass") return submit(step, { good: 1 });
  choose(step);
}

/**
 * An earlier time was read of the action sheet; it is for what is said next.
 * @param {string} name
 */
function pickTime(name) {
  if (!pickNamed(name)) return no(say("say.notime", say("when.title")));
  accept(whenWord() || say("when.now"));
}

/**
 * A step was pressed: it asks for more, or is said.
 * @param {Step} step
 */
export function choose(step) {
  answer.value = null;
  if (step.needs || step.reason === "concession") {
    asked.value = step;
    hear();
    return;
  }
  submit(step, {});
}

/**
 * Says a step with what it asked for.
 * @param {Step} step
 * @param {import("./_types.js").Fields} fields
 */
export function submit(step, fields) {
  if (!open.value) return;
  const scan = {
    station: current.value,
    card: open.value.card,
    action: step.action,
    language,
    ...aim(step, open.value.scanned),
    ...fields,
    ...happened(when.value, serverNow()),
    ...(note.value && { note: note.value }),
  };
  asked.value = null;
  send(scan, stepWord(step));
}

/**
 * What a step says by itself; scanned is the operation whose code was read.
 * @param {Step} step
 * @param {number | undefined} scanned
 */
function aim(step, scanned) {
  /** @type {import("./_types.js").Fields} */
  const out = {};
  const op = scanned && scanned !== step.operation ? scanned : 0;
  if (op && step.operation) out.operation = op;
  else if (step.operation) out.operation = step.operation;
  const keys = /** @type {const} */ (["visit", "phase", "for", "reason", "to"]);
  for (const key of keys) if (step[key] && !(op && key === "visit")) out[key] = step[key];
  if (operator.value) out.operator = operator.value.person;
  return out;
}

const GONE = ["move", "deliver", "send"];

const PATIENCE_MS = 2500; // how long an answer is still for the one who stands there

/**
 * Judges a scan, answers hand and eye at once, keeps it and goes on. What the server
 * says later corrects it: it decides.
 * @param {Scanned} said
 * @param {string} word
 */
async function send(said, word) {
  const scan = { id: newID(serverNow()), ...said };
  const front = open.value;
  const misfit = refusal(front, scan);
  if (misfit && link.value.alone) return refused(scan, misfit, word);
  when.value = null;
  note.value = "";
  if (misfit) hear();
  else goOn(front, scan, word);
  awaited.add(scan.id);
  const patience = setTimeout(() => stopAsking(scan.id), PATIENCE_MS);
  let entry;
  try {
    entry = await sayScan(scan, () => {
      refreshOwn();
      if (!link.value.alone) return;
      showOwnBoard(current.value);
      stopAsking(scan.id);
      if (scan.action === "undo") refreshOpen();
    });
  } catch {
    no(say("say.notkept"), say("say.refused") + ": " + word);
    return refreshOpen();
  } finally {
    clearTimeout(patience);
    awaited.delete(scan.id);
  }
  await answered(entry, word, misfit ? front : null);
}

/**
 * What is open goes on at once.
 * @param {View | null} front
 * @param {Scanned} scan
 * @param {string} word
 */
function goOn(front, scan, word) {
  accept(word);
  if (!front || open.value !== front) return;
  // What was carried away is no longer in front of anybody here.
  if (GONE.includes(scan.action)) return close();
  const at = Date.parse(scan.happened || "") || serverNow();
  show({ ...viewAfter(front, scan, at), scanned: front.scanned });
}

/**
 * What does not fit what this station knows is not kept; it may be said anyway.
 * @param {Scanned} scan
 * @param {{text: string, offer: boolean}} misfit
 * @param {string} word
 */
function refused(scan, misfit, word) {
  refuse();
  const title = say("say.refused") + ": " + word;
  answer.value = { kind: "refuse", title, text: misfit.text, anyway: misfit.offer ? scan : null, word };
}

/**
 * The server answered while someone waited for it.
 * @param {Entry} entry
 * @param {string} word
 * @param {View | null} unsure what was open, where the scan was not expected to fit
 */
async function answered(entry, word, unsure) {
  if (entry.state === "kept") {
    heard(true);
    if (unsure && open.value === unsure) goOn(unsure, entry.scan, word);
  }
  outcome(entry, word);
  await refreshOpen();
}

/**
 * @param {Entry} entry
 * @param {string} word
 */
function outcome(entry, word) {
  refreshOwn();
  if (entry.state === "kept" && (entry.asks || entry.issued)) {
    if (entry.asks) ask();
    answer.value = { kind: entry.asks ? "ask" : "accept", title: word, text: entry.say, card: entry.issued };
  }
  if (entry.state === "kept") return;
  if (entry.state === "question") {
    ask();
    answer.value = { kind: "ask", title: say("say.question"), text: entry.say };
    return;
  }
  refuse();
  answer.value = {
    kind: "refuse",
    title: say("say.refused") + ": " + word,
    text: entry.say,
    anyway: entry.offer ? entry.scan : null,
    word,
  };
}

/**
 * A refused scan is said again, knowing that it does not fit.
 * @param {Answer} t
 * @param {string} reason
 */
export function anyway(t, reason) {
  const { id, device, n, at, offset_ms, within_ms, basis, ...scan } = /** @type {Scanned} */ (t.anyway);
  answer.value = null;
  send({ ...spokenBy(scan, operator.value), anyway: true, ...(scan.reason ? {} : { reason }) }, t.word || "");
}

/** A code takes back the latest: what is not said yet goes before what was. */
function takeBack() {
  if (!early && !asked.value) return undo();
  dropEarly();
  asked.value = null;
  accept(say("undo.done"));
}

/** Takes the latest own scan back. */
export async function undo() {
  const scan = own.value && undoScan(own.value, operator.value, language);
  if (!scan) return no(say("undo.none"), say("undo.back"));
  answer.value = null;
  own.value = null;
  send(scan, say("undo.done"));
}

/**
 * The code that a supervisor's screen shows: alone, or in an address.
 * @param {string} text
 */
function enrolCode(text) {
  const found = /[?&](?:code|enrol)=([^&#]+)/i.exec(text);
  return found ? decodeURIComponent(found[1]) : text;
}

/**
 * Makes this device a station.
 * @param {string} code
 */
export async function enrol(code) {
  accept(say("edge.read"));
  try {
    const s = await post("/api/v1/enrol", { code });
    remember("device", s.device);
    return true;
  } catch (err) {
    no(/** @type {import("../../web/lib/api.js").Problem} */ (err).detail || say("say.offline"));
    return false;
  }
}

/**
 * Notes what the server says of itself.
 * @param {import("../../web/lib/_types.js").Me} who
 */
export function meet(who) {
  me.value = who;
  setEpoch(who.epoch);
  kick(true);
}
