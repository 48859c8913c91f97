import assert from "node:assert/strict";
import test from "node:test";
import { alike, firstOf, narrowed, summed, valuesOf } from "./alike.js";

const question = (id, more) => ({
  question: id,
  kind: "closed",
  cause: "closed",
  machine: "T1",
  choices: ["stood", "worked"],
  at: "2026-11-25T10:00:00Z",
  ...more,
});

test("alike are those of one kind and cause with the same answers, the most first", () => {
  const list = [
    question("a"),
    question("b", { machine: "T2", at: "2026-11-25T11:00:00Z" }),
    question("c", { who: "Someone" }),
    question("d", { kind: "anyway", cause: "machine.wrong" }),
    question("e", { choices: ["stood"] }),
  ];
  assert.deepEqual(
    alike(list).map((g) => g.list.map((q) => q.question).join("")),
    ["abc", "d", "e"],
  );
  assert.deepEqual(
    narrowed(list, { kind: "closed", machine: "T1", person: "Someone" }).map((q) => q.question),
    ["c"],
  );
  assert.equal(narrowed(list, {}).length, 5);
  assert.deepEqual(valuesOf(list, "machine"), ["T1", "T2"]);
  assert.deepEqual(valuesOf(list, "person"), ["Someone"]);
});

test("groups stay whole", () => {
  const groups = [3, 2, 4].map((n) => ({ list: Array(n).fill(0) }));
  assert.deepEqual(
    [1, 3, 4, 99].map((most) => firstOf(groups, most).length),
    [1, 1, 2, 3],
  );
});

test("what follows is added up, and a batch counts once", () => {
  const batch = (card, more) => ({ card, wanted: 50, finishes: 50, finishes_now: 50, ...more });
  const s = summed([
    { opens: 1, batches: [batch("A", { missing: 10, finishes: 40 })] },
    { opens: 0, batches: [batch("A", { missing: 2, finishes: 48 }), batch("B", { run_s: 60, held: true })] },
    { opens: 0, refused: "no", batches: [] },
  ]);
  assert.deepEqual(s.numbers, { missing: 12, run_s: 60 });
  assert.equal(s.short.length, 1);
  assert.deepEqual([s.held, s.opens, s.refused], [1, 1, 1]);
  assert.deepEqual(
    summed([{ opens: 0, batches: [batch("C", { finishes: 45, finishes_now: 45 })] }]).short,
    [],
  );
});
