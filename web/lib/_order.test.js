import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";

english("shared", "common", "desk");
globalThis.addEventListener = () => {};
globalThis.location = /** @type {any} */ ({ pathname: "/waits", search: "" });
const { changesOf, draftOf } = await import("./order.js");

const batch = /** @type {any} */ ({
  hot: true,
  priority: 0,
  due: "2026-12-11",
  wanted: 48,
  material_lots: ["H1", "H2"],
});

test("what was not touched is not said", () => {
  const was = draftOf(batch);
  assert.deepEqual(changesOf(was, { ...was }), []);
  assert.deepEqual(changesOf(was, { ...was, customer: "  " }), []);
});

test("each change is an override of its own", () => {
  const was = draftOf(batch);
  const is = {
    ...was,
    hot: false,
    priority: "5",
    due: "2026-12-02",
    wanted: "40",
    lots: "H1, H3",
    customer: "Mill",
  };
  assert.deepEqual(changesOf(was, is), [
    { for: "hot", pieces: 0 },
    { for: "priority", pieces: 5 },
    { for: "wanted", pieces: 40 },
    { for: "due", to: "2026-12-02" },
    { for: "customer", to: "Mill" },
    { for: "lots", to: "H1, H3" },
  ]);
});

test("a due date can't be emptied, a customer can", () => {
  const was = draftOf({ ...batch, customer: "Mill" });
  assert.deepEqual(changesOf(was, { ...was, due: "", customer: "" }), [{ for: "customer", to: "" }]);
});
