import assert from "node:assert/strict";
import test from "node:test";
import { capitalMM, themeAt } from "./wall-size.js";

// FAA human factors design standard: distance/200; NUREG-0700: 16 minutes of arc.
test("capitals are as high as they must be at each distance", () => {
  for (const [m, mm] of [
    [3, 15],
    [5, 25],
    [8, 40],
    [10, 50],
  ])
    assert.equal(capitalMM(m), mm);
});

test("dark hours may pass midnight", () => {
  const night = { m: 5, in: 43, theme: "clock", dark: "19:00", light: "06:00" };
  for (const [time, want] of [
    ["18:59", "light"],
    ["19:00", "dark"],
    ["00:30", "dark"],
    ["06:00", "light"],
  ])
    assert.equal(themeAt(night, time), want, time);
  assert.equal(themeAt({ ...night, dark: "09:00", light: "11:00" }, "10:00"), "dark");
  assert.equal(themeAt({ ...night, dark: "09:00", light: "11:00" }, "12:00"), "light");
});
