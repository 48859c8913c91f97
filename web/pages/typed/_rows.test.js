import assert from "node:assert/strict";
import { test } from "node:test";
import { faultOf, isEmpty, scansOf } from "./rows.js";

const at = (text) => Date.parse(text + ":00Z");
const row = (more = {}) => ({
  operation: 20,
  machine: "T1",
  person: "11",
  date: "2026-11-25",
  from: "06:10",
  to: "11:40",
  good: "18",
  scrap: "2",
  reason: "size",
  finish: true,
  ...more,
});
const now = at("2026-11-26T12:00");

test("a row becomes a run, a count and an end at its times", () => {
  let n = 0;
  const all = scansOf(row(), at, { card: "B1", note: "typed from paper" }, () => "id" + ++n);
  assert.deepEqual(
    all.map((s) => [s.id, s.action, s.happened, s.station, s.operator, s.operation, s.note]),
    [
      ["id1", "run", "2026-11-25T06:10:00.000Z", "T1", "11", 20, "typed from paper"],
      ["id2", "count", "2026-11-25T11:40:00.000Z", "T1", "11", 20, "typed from paper"],
      ["id3", "finish", "2026-11-25T11:40:00.000Z", "T1", "11", 20, "typed from paper"],
    ],
  );
  assert.deepEqual([all[1].good, all[1].scrap], [18, [{ reason: "size", n: 2 }]]);
});

test("a night shift ends the next day; what was not counted or not ended is not said", () => {
  const all = scansOf(
    row({ from: "22:00", to: "02:00", good: "", scrap: "", finish: false }),
    at,
    {},
    () => "x",
  );
  assert.deepEqual(
    all.map((s) => [s.action, s.happened]),
    [["run", "2026-11-25T22:00:00.000Z"]],
  );
  const counted = scansOf(row({ from: "22:00", to: "02:00", scrap: "" }), at, {}, () => "x");
  assert.equal(counted[1].happened, "2026-11-26T02:00:00.000Z");
  assert.equal("scrap" in counted[1], false);
});

test("what cannot be right is named by its field", () => {
  assert.equal(faultOf(row(), at, now), null);
  for (const [more, field] of [
    [{ machine: "" }, "machine"],
    [{ person: "" }, "person"],
    [{ date: "" }, "from"],
    [{ from: "25:99" }, "from"],
    [{ to: "" }, "to"],
    [{ date: "2026-11-26", to: "13:00" }, "to"],
    [{ good: "two" }, "good"],
    [{ scrap: "-1" }, "scrap"],
    [{ reason: "" }, "reason"],
  ])
    assert.equal(faultOf(row(more), at, now)?.[0], field, JSON.stringify(more));
  assert.equal(isEmpty(row()), false);
  assert.equal(isEmpty(row({ from: "", to: "", good: "", scrap: "", person: "" })), true);
});
