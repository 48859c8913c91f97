import assert from "node:assert/strict";
import test from "node:test";
import "./_browser.js";
const { adviceAt, inOrder, said } = await import("./next.js");

const waiting = [
  { card: "A", operation: 10 },
  { card: "B", operation: 20 },
  { card: "C", operation: 10 },
  { card: "A", operation: 30 },
];
const advice = /** @type {any} */ ({
  waiting: [
    { card: "C", operation: 10, place: 1, say: "Saves a set-up." },
    { card: "B", operation: 20, place: 2, say: "" },
  ],
});

test("what waits stands in the order of the advice, what it does not know last, as it was", () => {
  const order = inOrder(waiting, advice).map((w) => w.card + w.operation);
  assert.deepEqual(order, ["C10", "B20", "A10", "A30"]);
});

test("without advice the order of the board stays", () => {
  assert.deepEqual(inOrder(waiting, null), waiting);
});

test("a batch is known by its card and its operation", () => {
  assert.equal(said({ card: "C", operation: 10 }, advice)?.say, "Saves a set-up.");
  assert.equal(said({ card: "C", operation: 20 }, advice), undefined);
  assert.equal(said({ card: "C", operation: 10 }, null), undefined);
});

test("a machine that nobody asked about has no advice", () => {
  assert.equal(adviceAt("M1", 0), null);
});
