import assert from "node:assert/strict";
import test from "node:test";
import { thereUntil, happened, LAPSE_MS, LAPSE_PAD_MS, lapsed } from "./moments.js";

test("a picked time is for what is said next, and lapses", () => {
  const w = { ago: 5, set: 1000 };
  assert.equal(lapsed(w, 1000 + LAPSE_MS - 1, false), false);
  assert.ok(lapsed(w, 1000 + LAPSE_MS, false));
  assert.equal(lapsed(w, 1000 + LAPSE_MS, true), false, "counting takes longer");
  assert.ok(lapsed(w, 1000 + LAPSE_PAD_MS, true));
  assert.equal(lapsed(null, 1e9, false), false);
});

test("what was picked is said as a moment", () => {
  const now = Date.UTC(2026, 10, 25, 10, 0);
  assert.deepEqual(happened(null, now), {});
  assert.deepEqual(happened({ ago: 5, set: 0 }, now), { happened: "2026-11-25T09:55:00.000Z" });
  assert.deepEqual(happened({ at: now - 3600000, set: 0 }, now), { happened: "2026-11-25T09:00:00.000Z" });
});

test("who is there is there to the end of the shift, and a little longer if they stay", () => {
  const hour = 3600000;
  assert.equal(thereUntil(6 * hour, 0), 15 * hour); // no calendar: nine hours
  assert.equal(thereUntil(6 * hour, 14 * hour), 14 * hour);
  assert.equal(thereUntil(6 * hour, 22 * hour), 15 * hour);
  assert.equal(thereUntil(13.75 * hour, 14 * hour), 14.25 * hour); // of the next shift, or works on
  assert.equal(thereUntil(15 * hour, 14 * hour), 24 * hour); // an end that was kept from before
});
