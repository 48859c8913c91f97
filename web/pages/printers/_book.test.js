import assert from "node:assert/strict";
import { test } from "node:test";
import { counter } from "./counted.js";

const bytes = (text) => new TextEncoder().encode(text);

// A count that is cut in two by the network is read all the same, and one in a drawing
// that only looks like it is not.
test("cards are counted as they come", () => {
  const seen = counter();
  assert.equal(seen.take(bytes("%PDF-1.7\nendobj\n%cards 10")), 0);
  assert.equal(seen.take(bytes("0\n4 0 obj\n%cards")), 100);
  assert.equal(seen.take(bytes(" 200")), 100);
  assert.equal(seen.take(bytes("\nBT (%cards 999) Tj ET\n")), 200);
  assert.equal(seen.whole(), false);
  seen.take(bytes("%cards 250\nstartxref\n9\n%%EO"));
  assert.equal(seen.whole(), false);
  assert.equal(seen.take(bytes("F\n")), 250);
  assert.equal(seen.whole(), true);
});
