import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";
import { setClock } from "./clock.js";
import * as times from "./times.js";

english("shared");

const [S, MIN, H, D] = [1000, 60e3, 3600e3, 86400e3];

test("spans have their two largest units, rounded and never cut; from thirty days on days", () => {
  for (const [ms, want] of [
    [0, "0 s"],
    [-3, "0 s"],
    [NaN, "0 s"],
    [59.4 * S, "59 s"],
    [59.6 * S, "1 min"],
    [90 * S, "1 min 30 s"],
    [5 * MIN + 20 * S, "5 min 20 s"],
    [34 * MIN + 40 * S, "34 min 40 s"],
    [59 * MIN + 59.7 * S, "1 h"],
    [525 * MIN, "8 h 45 min"],
    [89 * MIN + 59 * S, "1 h 30 min"],
    [23 * H + 59 * MIN + 50 * S, "1 d"],
    [47 * H, "1 d 23 h"],
    [13.9 * D, "13 d 22 h"],
    [7 * D, "7 d"],
    [29 * D + 23 * H + 40 * MIN, "30 d"],
    [71.96 * D, "72 d"],
  ])
    assert.equal(times.span(ms), want, `${ms} ms`);
});

test("what goes on is said in whole minutes from ten minutes on", () => {
  assert.equal(times.elapsed(9 * MIN + 59 * S), "9 min 59 s");
  assert.equal(times.elapsed(34 * MIN + 40 * S), "35 min");
});

test("seconds and minutes are the same spans", () => {
  assert.equal(times.minutes(5 + 1 / 3), "5 min 20 s");
  assert.equal(times.seconds(320), "5 min 20 s");
  assert.equal(times.seconds(null), "");
});

// The clocks of Berlin went back on 2026-10-25 at 3:00 (EU directive 2000/84/EC).
test("what is typed in the shop's time comes back, also over the change of clocks", () => {
  times.setZone("Europe/Berlin");
  for (const [text, iso] of [
    ["2026-10-24T12:00:00", "2026-10-24T10:00:00.000Z"],
    ["2026-10-26T12:00:00", "2026-10-26T11:00:00.000Z"],
    ["2026-03-29T04:00:00", "2026-03-29T02:00:00.000Z"],
  ]) {
    assert.equal(new Date(times.fromLocal(text)).toISOString(), iso);
    assert.equal(times.localText(Date.parse(iso)), text);
  }
  assert.ok(Number.isNaN(times.fromLocal("soon")));
  assert.equal(times.dayOf(Date.parse("2026-11-25T23:30:00Z")), "2026-11-26");
});

test("moments say the day where it is not today", () => {
  times.setZone("Europe/Berlin");
  setClock("2026-11-25T10:00:00Z", performance.now(), performance.now());
  assert.equal(times.moment("2026-11-25T09:05:00Z"), "10:05");
  assert.match(times.moment("2026-11-23T09:05:00Z"), /^Mon 10:05$/);
  assert.match(times.moment("2026-10-01T09:05:00Z"), /^1 Oct,? 11:05$/);
  assert.match(times.dateText("2026-12-03"), /^Thu 3 Dec$/);
  assert.match(times.dateText("2027-12-03"), /^Fri 3 Dec 2027$/);
  assert.equal(times.dateText("soon"), "soon");
  assert.equal(times.daysBetween("2026-10-20", "2026-10-30"), 10);
});

test("a zone that nobody knows is the device's own", () => {
  times.setZone("Mars/Olympus");
  assert.equal(times.minuteText(0), times.minuteText(0));
  times.setZone("UTC");
  assert.equal(times.minuteText(Date.UTC(2026, 0, 1, 6, 5)), "06:05");
});
