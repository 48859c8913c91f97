import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";

english("shared", "common", "desk");
const { measuredOf, measuredText, nothing } = await import("./measured.js");

test("an empty draft says nothing, an unfinished one does not do", () => {
  assert.deepEqual(measuredOf(nothing), []);
  assert.equal(measuredOf({ ...nothing, dimension: "bore" }), null);
  assert.equal(measuredOf({ ...nothing, nominal: "20", found: "20.1" }), null);
  assert.equal(measuredOf({ ...nothing, dimension: "bore", nominal: "x", found: "20" }), null);
  const crossed = { dimension: "bore", nominal: "20", lower: "0.1", upper: "0", found: "20" };
  assert.equal(measuredOf(crossed), null);
});

test("a comma is a decimal sign, and limits left empty are none", () => {
  assert.deepEqual(
    measuredOf({ ...nothing, dimension: "bore", nominal: "20", upper: "0,021", found: "20,03" }),
    [{ dimension: "bore", nominal: 20, lower: 0, upper: 0.021, found: 20.03 }],
  );
});

// 20 H7 is 20.000 to 20.021 mm (ISO 286-2, from memory).
test("what was found is said with what is allowed", () => {
  const bore = { dimension: "bore 20 H7", nominal: 20, lower: 0, upper: 0.021 };
  assert.equal(
    measuredText({ ...bore, found: 20.03, beyond: 0.009 }),
    "bore 20 H7: 20.03 mm, allowed 20 to 20.021; 0.009 mm too large",
  );
  assert.equal(
    measuredText({ ...bore, found: 19.99, beyond: -0.01 }),
    "bore 20 H7: 19.99 mm, allowed 20 to 20.021; 0.01 mm too small",
  );
  assert.equal(measuredText({ ...bore, found: 20.01 }), "bore 20 H7: 20.01 mm, allowed 20 to 20.021");
});
