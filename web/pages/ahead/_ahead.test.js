import assert from "node:assert/strict";
import test from "node:test";
import "../../lib/_english.js";
import { setZone } from "../../lib/times.js";
import { bodyOf, changesOf, enquiryOf, readJSON } from "./scenario.js";
import { fits } from "./sort.js";

setZone("Europe/Berlin");

const none = () => [];

test("overtime is asked of each machine that keeps the calendar, in the shop's own time", () => {
  const change = { k: "overtime", calendar: "Day", date: "2026-12-05", from: "06:00", to: "12:00" };
  // Berlin is an hour ahead of UTC in winter.
  const stretch = { from: "2026-12-05T05:00:00.000Z", to: "2026-12-05T11:00:00.000Z" };
  assert.deepEqual(
    bodyOf([change], (c) => (c === "Day" ? ["M1", "M2"] : [])),
    { overtime: ["M1", "M2"].map((machine) => ({ machine, ...stretch })) },
  );
  assert.equal(bodyOf([change], none), null);
});

test("overtime that ends before it begins ends on the next day", () => {
  const body = bodyOf(
    [{ k: "overtime", calendar: "Late", date: "2026-12-31", from: "22:00", to: "02:00" }],
    () => ["M1"],
  );
  assert.equal(body?.overtime[0].to, "2027-01-01T01:00:00.000Z");
});

test("changes of several kinds are asked together, the last rule counts", () => {
  const body = bodyOf(
    [
      { k: "first", card: "A" },
      { k: "rule", rule: "slack" },
      { k: "split", card: "B", pieces: "12" },
      { k: "route", card: "C", rev: "2" },
      { k: "first", card: "D" },
      { k: "rule", rule: "wait" },
      { k: "down", machine: "G1", date: "2026-12-01", from: "06:00", until: "2026-12-02", to: "22:00" },
    ],
    none,
  );
  assert.deepEqual(body, {
    rule: "wait",
    first: ["A", "D"],
    down: [{ machine: "G1", from: "2026-12-01T05:00:00.000Z", to: "2026-12-02T21:00:00.000Z" }],
    route: [{ card: "C", route_rev: "2" }],
    split: [{ card: "B", pieces: 12 }],
  });
});

test("an address that someone broke asks for nothing", () => {
  for (const text of [undefined, "", "{", "null", "7", '{"k":"first"}', "[null, 3, {}]"]) {
    assert.deepEqual(changesOf(text), []);
    assert.equal(bodyOf(changesOf(text), none), null);
  }
  assert.equal(readJSON("{"), null);
});

test("an enquiry needs a part and pieces on each line", () => {
  assert.equal(enquiryOf(null), null);
  assert.equal(enquiryOf({ lines: [] }), null);
  assert.equal(enquiryOf({ lines: [{ part: "A", pieces: "0" }] }), null);
  assert.equal(
    enquiryOf({
      lines: [
        { part: "A", pieces: 1 },
        { part: "", pieces: 1 },
      ],
    }),
    null,
  );
  assert.deepEqual(enquiryOf({ from: "", lines: [{ part: "A", pieces: "40.7", due: "" }] }), {
    lines: [{ part: "A", pieces: 40 }],
  });
  assert.deepEqual(enquiryOf({ from: "2026-12-01", lines: [{ part: "A", pieces: 4, due: "2026-12-24" }] }), {
    from: "2026-12-01",
    lines: [{ part: "A", pieces: 4, due: "2026-12-24" }],
  });
});

test("batches are found by any of their names, by what they need, and by what they wait for", () => {
  const b = {
    card: "B123",
    works_order: "W-501",
    customer: "Hill",
    late: "likely",
    state: "waiting",
    waits_for: "GRIND",
  };
  const yes = [
    {},
    { find: " w-50" },
    { find: "hill" },
    { needs: "late" },
    { needs: "someone" },
    { centre: "GRIND" },
  ];
  const no = [
    { find: "W-502" },
    { needs: "risk" },
    { needs: "held" },
    { centre: "TURN" },
    { find: "hill", centre: "TURN" },
  ];
  for (const c of yes) assert.equal(fits(b, c), true, JSON.stringify(c));
  for (const c of no) assert.equal(fits(b, c), false, JSON.stringify(c));
  assert.equal(fits({ ...b, late: "", state: "held" }, { needs: "someone" }), true);
  assert.equal(fits(b, { needs: "nonsense" }), true);
});
