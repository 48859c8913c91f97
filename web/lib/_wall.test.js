import assert from "node:assert/strict";
import test from "node:test";
import { capitalMM, themeAt } from "./wall-size.js";
import { fit, worst } from "./wall.js";

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

test("a board is on three pages at most; what is needed least is counted instead", () => {
  const blocks = Array.from({ length: 20 }, (_, i) => ({ lines: 2, need: i, name: String(i) }));
  const pages = fit(blocks, 6, (left) => ({ lines: 1, need: Infinity, name: `${left.length} more` }));
  assert.equal(pages.length, 3);
  for (const p of pages) assert.ok(p.reduce((n, b) => n + b.lines, 0) <= 6);
  const shown = pages.flat().map((b) => b.name);
  assert.equal(shown.at(-1), `${20 - (shown.length - 1)} more`);
  assert.ok(shown.includes("19") && !shown.includes("0"));
  assert.deepEqual(
    fit(blocks.slice(0, 3), 6, () => assert.fail("there is room")),
    [blocks.slice(0, 3)],
  );
});

test("the worst come first: the latest, then the longest wait", () => {
  const row = (name, since, due, late) => ({ name, since, due, late });
  const list = [
    row("new", "2026-11-25T08:00:00Z", "2026-12-01", false),
    row("old", "2026-11-20T08:00:00Z", "2026-12-24", false),
    row("late", "2026-11-25T09:00:00Z", "2026-11-24", true),
    row("latest", "2026-11-25T09:00:00Z", "2026-11-20", true),
  ];
  assert.deepEqual(
    worst(list).map((r) => r.name),
    ["latest", "late", "old", "new"],
  );
});
