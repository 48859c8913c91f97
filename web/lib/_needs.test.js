import assert from "node:assert/strict";
import test from "node:test";
import { shapes } from "./marks.js";
import { conditions, needsOf, overBy, worstFirst } from "./needs.js";

const noon = Date.parse("2026-03-02T12:00:00Z"),
  past = "2026-03-02T11:00:00Z",
  ahead = "2026-03-02T13:00:00Z";

test("each condition holds of what it says, and of nothing else", () => {
  for (const [row, want] of [
    [{ state: "waiting" }, []],
    [{ late: true, late_from: past }, ["late"]],
    [{ late: 3 }, ["late"]],
    [{ work_late: true }, ["late"]],
    [{ late_from: past }, ["soon"]],
    [{ late_from: ahead, over_from: ahead, long_from: ahead }, []],
    [{ state: "stopped", over_from: past }, ["stop"]],
    [{ state: "held" }, ["held"]],
    [{ held: 1, asks: 1 }, ["held", "ask"]],
    [{ state: "review" }, ["ask"]],
    [{ state: "firstoff" }, ["ask"]],
    [{ state: "running", over_from: past }, ["over"]],
    [{ state: "outside", over_from: past }, ["over"]],
    [{ state: "waiting", long_from: past }, ["long"]],
  ])
    assert.deepEqual(needsOf(row, noon), want, JSON.stringify(row));
});

test("each condition has a mark of its own, and no mark is drawn like another", () => {
  for (const c of conditions) assert.ok(shapes[c], c);
  assert.equal(new Set(Object.values(shapes)).size, Object.keys(shapes).length);
});

test("the worst come first", () => {
  const row = (key, fields) => ({ key, since: past, ...fields });
  const list = [
    row("quiet", {}),
    row("long", { long_from: past }),
    row("late", { late: true, due: "2026-03-01" }),
    row("held", { state: "held" }),
    row("latest", { late: true, due: "2026-02-20" }),
    row("soon", { late_from: past, due: "2026-03-02" }),
    row("older", { since: "2026-03-01T08:00:00Z" }),
  ];
  assert.deepEqual(
    worstFirst(list, noon).map((r) => r.key),
    ["latest", "late", "soon", "held", "long", "older", "quiet"],
  );
});

// Without a calendar all time counts, by hand: from 11:00 to 12:00.
test("by how much something is past its plan", () => {
  assert.equal(overBy({ state: "running", over_from: past, work_centre: "TURN" }, noon), 3600e3);
  assert.equal(overBy({ state: "running", over_from: ahead, work_centre: "TURN" }, noon), 0);
});
