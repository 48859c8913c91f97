import assert from "node:assert/strict";
import test from "node:test";
import { english } from "../../web/lib/_english.js";
import { CODES } from "./codes.js";
import { saidOf } from "./said.js";

english("shared", "station");

const ACTIONS = Object.values(CODES).filter(
  (name) => !/^(\d|(key|outcome|when|count)\..*|wait|pass|concession)$/.test(name),
);
const lost = (n) => [{ reason: "size", n }];

test("every action has a sentence, with and without what it may carry", () => {
  const full = {
    operation: 20,
    good: 7,
    scrap: lost(2),
    rework: lost(1),
    review: lost(3),
    missing: 1,
    pieces: 4,
    to: "M1",
    reason: "tool",
    reads: 99,
    phase: "setup",
  };
  for (const action of ACTIONS) {
    for (const scan of [
      { action },
      { action, ...full },
      { action, ...full, for: "10" },
      { action, reads: 5 },
      { action, for: "drawing", reason: "use" },
    ]) {
      const says = saidOf(scan);
      assert.ok(/^[A-Z0-9]/.test(says), `${action}: ${says}`);
      assert.ok(!/[{}]|undefined|null|did\.|: $/.test(says), `${JSON.stringify(scan)}: ${says}`);
    }
  }
});

test("the line says what it would undo", () => {
  for (const [scan, want] of [
    [{ action: "decide", operation: 10, good: 2, card: "BKGPRQNDZ" }, "Pieces on hold at op 10: 2 good"],
    [{ action: "decide", operation: 10, good: 2, reason: "concession" }, "Concession at op 10: 2 good"],
    [{ action: "firstoff", good: 1 }, "First-off passed"],
    [{ action: "firstoff", scrap: lost(1) }, "First-off rejected: 1 scrap"],
    [{ action: "finish", good: 47, scrap: lost(3) }, "Op finished, 47 good, 3 scrap"],
    [{ action: "run", for: "10" }, "Rework of op 10 started"],
    [{ action: "move", to: "M1" }, "Moved to M1"],
    [{ action: "send", operation: 30 }, "Op 30 sent out"],
    [{ action: "ready", for: "fixture", reason: "missing" }, "Missing: fixture"],
    [{ action: "ready", reason: "there" }, "Everything is there"],
    [{ action: "deliver", pieces: 1 }, "1 piece delivered"],
  ])
    assert.equal(saidOf(scan), want);
  assert.equal(
    saidOf({ action: "stop", reason: "tool" }, (kind, r) => `${kind} ${r}`),
    "Stopped: stop tool",
  );
});
