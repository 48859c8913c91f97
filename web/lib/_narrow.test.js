import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";

english("shared", "common", "desk");
globalThis.location = /** @type {any} */ ({ pathname: "/waits", search: "" });
globalThis.addEventListener = () => {};
const { isNarrowed, narrowed, weekOf } = await import("./narrow.js");

// By the calendar: 29 November 2026 is a Sunday, 30 November a Monday.
test("a week begins on Monday", () => {
  assert.equal(weekOf("2026-11-29"), "2026-11-23");
  assert.equal(weekOf("2026-11-30"), "2026-11-30");
  assert.equal(weekOf("2027-01-01"), "2026-12-28");
});

const list = [
  { id: 1, customer: "Mill", due: "2026-11-29", late: true, state: "waiting" },
  { id: 2, customer: "Mill", due: "2026-11-30", hot: true, state: "held" },
  { id: 3, customer: "Port", state: "waiting", short: 2 },
];
const ids = (by) => narrowed(list, by).map((r) => r.id);

test("rows are narrowed down by all that is chosen", () => {
  assert.deepEqual(ids({}), [1, 2, 3]);
  assert.deepEqual(ids({ customer: "Mill" }), [1, 2]);
  assert.deepEqual(ids({ customer: "Mill", week: "2026-11-30" }), [2]);
  assert.deepEqual(ids({ week: "none" }), [3]);
  assert.deepEqual(ids({ late: "1" }), [1]);
  assert.deepEqual(ids({ hot: "1", held: "1" }), [2]);
  assert.deepEqual(ids({ hot: "1", late: "1" }), []);
  assert.deepEqual(ids({ short: "1" }), [3]);
  assert.equal(isNarrowed({ part: "x" }), false);
});
