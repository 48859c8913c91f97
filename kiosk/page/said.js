// What a scan said, in words: for the line that offers to undo it, and for
// answers that come late. Each action has its sentence, with what it was about.
import { count, known, say } from "../../web/lib/words.js";

/** @typedef {import("./_types.js").Scanned} Scanned */

/** @type {(list: {n: number}[] | undefined) => number} */
const sum = (list) => (list || []).reduce((n, x) => n + x.n, 0);

/**
 * The pieces of a scan, as "47 good, 2 scrap"; '' for none.
 * @param {Scanned} scan
 */
function countsOf(scan) {
  /** @type {[number | undefined, string][]} */
  const all = [
    [scan.good, "good"],
    [sum(scan.scrap), "scrap"],
    [sum(scan.rework), "rework"],
    [sum(scan.review), "review"],
    [scan.missing, "missing"],
  ];
  return all
    .filter(([n]) => n)
    .map(([n, kind]) => `${n} ${say(kind)}`)
    .join(", ");
}

/**
 * The sentence of a scan.
 * @param {(kind: string, reason: string) => string} reasonText the shop's words for a reason
 * @param {Scanned} scan
 * @param {(kind: string, reason: string) => string} [reasonText]
 */
export function saidOf(scan, reasonText = (_, reason) => reason) {
  const counts = countsOf(scan);
  const op = scan.operation || "";
  switch (scan.action) {
    case "run":
      if (scan.reason === "handover") return say("did.run.handed");
    // falls through
    case "setup":
    case "arrive":
      return scan.for ? say(`did.${scan.action}.rework`, scan.for) : say("did." + scan.action);
    case "firstoff":
      return firstOff(scan, counts);
    case "stop":
      return scan.reason ? say("did.stop", reasonText("stop", scan.reason)) : say("did.stop.bare");
    case "count":
      return counting(scan, counts);
    case "finish":
      return counts ? say("did.finish", counts) : say("did.finish.bare");
    case "hold":
      return scan.reason ? say("did.hold", scan.reason) : say("did.hold.bare");
    case "split":
      return count("did.split", scan.pieces || 0);
    case "join":
      return say("did.join", scan.for || "");
    case "move":
      return say("did.move", scan.to || "");
    case "send":
      return scan.pieces ? say("did.send.part", op, scan.pieces) : say("did.send", op);
    case "receive":
      return say("did.receive", op, counts || 0);
    case "ready":
      return ready(scan, ["there", "missing"].find((s) => s === scan.reason) ?? "open", reasonText);
    case "decide":
      return decision(scan, counts, op);
    case "deliver":
      return scan.pieces ? count("did.deliver", scan.pieces) : say("did.deliver.all");
  }
  return say("did." + scan.action);
}

/**
 * @param {Scanned} scan
 * @param {string} state
 * @param {(kind: string, reason: string) => string} reasonText
 */
const ready = (scan, state, reasonText) =>
  scan.for ? say("did.ready." + state, reasonText("ready", scan.for)) : say("did.ready.all." + state);

/**
 * @param {Scanned} scan
 * @param {string} counts
 */
function firstOff(scan, counts) {
  if (!counts) return say("did.firstoff");
  return scan.good ? say("did.firstoff.passed") : say("did.firstoff.rejected", counts);
}

/**
 * @param {Scanned} scan
 * @param {string} counts
 */
function counting(scan, counts) {
  if (scan.reads !== undefined && !counts) return say("did.reads", scan.reads);
  return say(scan.phase === "setup" ? "did.count.setup" : "did.count", counts || 0);
}

/**
 * @param {Scanned} scan
 * @param {string} counts
 * @param {number | string} op
 */
function decision(scan, counts, op) {
  if (scan.for === "drawing") return say(scan.reason === "use" ? "did.drawing.use" : "did.drawing.stop");
  if (scan.for) return say("did.question");
  return say(scan.reason === "concession" ? "did.concession" : "did.decide", op, counts || 0);
}

/**
 * What a step of the program is called; one that this page does not know, as the program says.
 * @param {{key: string, word?: string, args?: string[]}} step
 */
export const stepWord = (step) => known(step.key, step.word || step.key, ...(step.args || []));
