import assert from "node:assert/strict";
import test from "node:test";
import { lastOf } from "./remembering.js";

test("a reload right after a tap: the box has not heard of it", () => {
  const box = { count: 4, machine: "T1", operator: { id: "11", until: 1 } };
  const hand = { count: 5, machine: "T1", operator: { id: "11", until: 2 }, front: null };
  assert.deepEqual(lastOf(box, hand), { ...hand, count: 5 });
});

test("a browser that was killed: localStorage is older, or gone", () => {
  const box = { count: 6, machine: "T2", front: null };
  assert.deepEqual(lastOf(box, { count: 5, machine: "T1", front: { card: "X" } }), box);
  assert.deepEqual(lastOf(box, { machine: null, front: null }), box);
});

test("what was forgotten stays forgotten", () => {
  assert.equal(lastOf({ count: 1, operator: { id: "11" } }, { count: 2, operator: null }).operator, null);
});

test("a device of a version that did not count goes by the box, as it did", () => {
  const box = { machine: "T2" };
  assert.deepEqual(lastOf(box, { machine: "T1", theme: "dark" }), { machine: "T2", theme: "dark" });
});
