import assert from "node:assert/strict";
import test from "node:test";
import { roundOf } from "./round.js";

/** @type {(scan: any) => any} */
const e = (scan) => ({ scan });
/** @type {(entries: any[], opened?: boolean) => string[]} */
const left = (entries, opened = true) =>
  roundOf(entries, opened)
    .filter((t) => !t.done)
    .map((t) => t.task);

test("the round asks for all of it, in the order in which it is tried", () => {
  assert.equal(left([], false)[0], "read");
  assert.equal(left([])[0], "setup");
  assert.equal(left([]).at(-1), "finish");
});

test("a first piece that waits is not one that passed", () => {
  const said = [e({ action: "setup" }), e({ action: "firstoff" })];
  assert.equal(left(said)[0], "pass");
  assert.equal(left([...said, e({ action: "firstoff", good: 1 })])[0], "run");
});

test("going on counts after a stop only", () => {
  const run = e({ action: "run" });
  assert.ok(left([run]).includes("again"));
  assert.ok(!left([run, e({ action: "stop" }), run]).includes("again"));
});

test("what was taken back was practised all the same", () => {
  const said = [e({ action: "finish", scrap: 1 }), e({ action: "undo" })];
  const open = left(said);
  assert.ok(!open.includes("finish") && !open.includes("scrap") && !open.includes("undo"));
});
