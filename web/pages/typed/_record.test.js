import assert from "node:assert/strict";
import { test } from "node:test";
import { english } from "../../lib/_english.js";
import { Problem, uuid7 } from "../../lib/api.js";
import { busy, change, isLocked, recordAll } from "./record.js";

english("shared", "typed");

const row = (key, more = {}) => ({
  ...{ key, operation: 20, machine: "T1", person: "11", date: "2026-11-25", from: "06:10", to: "11:40" },
  ...{ good: "18", scrap: "", reason: "", finish: true },
  ...{ sent: null, recorded: [], done: false, results: null, problem: null, fault: null },
  ...more,
});

/** Ways into a record that answers as a test wants; a scan with a known id is not recorded again. */
function record(...answers) {
  const sent = /** @type {any[][]} */ ([]);
  const send = async (scans) => {
    sent.push(scans);
    const answer = answers.shift() ?? (() => "kept");
    await Promise.resolve();
    if (answer instanceof Error) throw answer;
    return scans.map((s) => ({ id: s.id, outcome: answer(s), say: "as the test has it" }));
  };
  const ways = {
    at: (text) => Date.parse(text + ":00Z"),
    now: () => Date.parse("2026-11-26T12:00:00Z"),
    base: { card: "B1" },
    id: uuid7,
    send,
    say: (key) => key,
    lost: (err) => "lost: " + err.status,
  };
  return { ways, sent, ids: () => sent.map((scans) => scans.map((s) => s.id).join(" ")) };
}

test("a button that is pressed twice sends each row once", async () => {
  const rows = { value: [row("a"), row("b"), row("c", { from: "", to: "", good: "", person: "" })] },
    r = record();
  const first = recordAll(rows, r.ways);
  assert.equal(busy.value, true);
  await Promise.all([first, recordAll(rows, r.ways)]);
  await recordAll(rows, r.ways);
  assert.equal(busy.value, false);
  assert.equal(r.sent.length, 2);
  assert.deepEqual(
    rows.value.map((x) => x.done),
    [true, true, false],
  );
});

test("a row is sent as it is when its turn comes", async () => {
  const rows = { value: [row("a"), row("b")] },
    r = record();
  const all = recordAll(rows, r.ways);
  change(rows, "b", { good: "7" });
  await all;
  assert.deepEqual(
    r.sent.map((scans) => scans[1].good),
    [18, 7],
  );
});

test("after a lost answer a row cannot be changed and keeps its ids until it is answered", async () => {
  const rows = { value: [row("a")] },
    r = record(new Problem(0), new Problem(503));
  for (const status of [0, 503]) {
    await recordAll(rows, r.ways);
    assert.equal(rows.value[0].problem, "lost: " + status);
    assert.equal(isLocked(rows.value[0], "good"), true);
  }
  await recordAll(rows, r.ways);
  assert.equal(new Set(r.ids()).size, 1);
  assert.equal(r.sent.length, 3);
  assert.equal(rows.value[0].done, true);
});

test("what was refused can be typed otherwise, with other ids; the rest is not sent again", async () => {
  const rows = { value: [row("a")] },
    r = record((s) => (s.action === "count" ? "refused" : "kept"));
  await recordAll(rows, r.ways);
  const now = rows.value[0];
  assert.deepEqual(
    ["from", "machine", "good", "to", "finish"].map((f) => isLocked(now, f)),
    [true, true, false, false, true],
  );
  assert.equal(now.done, false);
  change(rows, "a", { good: "12" });
  await recordAll(rows, r.ways);
  assert.deepEqual(
    r.sent[1].map((s) => [s.action, s.good]),
    [["count", 12]],
  );
  assert.notEqual(r.sent[1][0].id, r.sent[0][1].id);
  assert.equal(rows.value[0].done, true);
});

test("a request that is refused as a whole leaves the row to be changed", async () => {
  const rows = { value: [row("a")] },
    r = record(new Problem(422, "No such person."));
  await recordAll(rows, r.ways);
  assert.equal(rows.value[0].problem, "No such person.");
  assert.equal(isLocked(rows.value[0], "person"), false);
  await recordAll(rows, r.ways);
  assert.equal(new Set(r.ids()).size, 2);
});
