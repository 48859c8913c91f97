import assert from "node:assert/strict";
import test from "node:test";

// The device's clocks stand in these tests until they are set.
const T = Date.parse("2026-11-25T10:00:00Z");
const START = Date.parse("2026-11-25T11:30:00Z"); // the device is wrong by an hour and a half
let at = 1000;
let off = 0;
performance.now = () => at;
Date.now = () => START + at + off;
const { measure, notBefore, now, setClock, setPace, stamp, tick, within } = await import("./clock.js");

test("until it was measured, the clock is the device's own, and in doubt by a minute", () => {
  assert.equal(now(), Date.now());
  assert.equal(within(), 60000);
});

test("what the server said counts at the middle of the question", () => {
  setClock("2026-11-25T10:00:00Z", at - 400, at);
  assert.equal(now(), T + 200);
  assert.equal(within(), 202);
  assert.equal(tick.value, T + 200);
  setClock("no time", at, at);
  assert.equal(now(), T + 200);
});

test("a scan says the device's time and how far the server is from it", () => {
  const s = stamp();
  assert.equal(Date.parse(s.at) + s.offset_ms, now());
  assert.equal(s.within_ms, within());
});

test("it goes on with the steady clock, also when someone puts the device's clock right", () => {
  at += 60000;
  assert.equal(now(), T + 60200);
  off = -3600000;
  assert.equal(now(), T + 60200);
  assert.equal(stamp().offset_ms, now() - Date.now());
});

test("of several measurements the middle one is taken", async () => {
  const said = [0, 5000, 100, -7000, 120].map((ms) => new Date(T + ms).toISOString());
  await measure(async () => ({ now: said.shift() ?? "" }));
  assert.equal(now(), T + 100);
});

test("the clock is moved on where the server is further, never back", () => {
  notBefore(new Date(T + 3600e3).toISOString());
  assert.equal(now(), T + 3600e3);
  notBefore(new Date(T).toISOString());
  notBefore("no time");
  assert.equal(now(), T + 3600e3);
});

test("a demo's clock runs faster", () => {
  setPace(20);
  setClock("2026-11-25T10:00:00Z", at, at);
  at += 3000;
  assert.equal(now(), T + 60000);
  setPace(0);
});

test("the clock of one server is not another's", async () => {
  const { clockOf } = await import("./clock.js");
  setClock("2026-11-25T10:00:00Z", at, at);
  clockOf("");
  assert.equal(now(), T, "still the one that was measured");
  clockOf("http://hall-2:8080");
  assert.equal(now(), Date.now());
  assert.equal(within(), 60000);
  setClock("2026-11-25T13:00:00Z", at, at);
  assert.equal(now(), T + 3 * 3600000);
});
