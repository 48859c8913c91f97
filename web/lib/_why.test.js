import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { english } from "./_english.js";
import { setZone } from "./times.js";
import { why, whyText } from "./why.js";

// The cases are those of the server, by hand: traveler/board/why_test.go.
const cases = JSON.parse(
  readFileSync(new URL("../../traveler/board/testdata/why.json", import.meta.url), "utf8"),
);

test("a page works out the same reasons as the server", () => {
  for (const c of cases) assert.deepEqual(why(c.row, c.line, Date.parse(c.now)), c.want ?? [], c.name);
});

test("each reason is a sentence", () => {
  english("shared", "common");
  setZone("UTC");
  const said = Object.fromEntries(
    cases.map((c) => [c.name, whyText(why(c.row, c.line, Date.parse(c.now)), Date.parse(c.now))]),
  );
  assert.match(said["third in line, busy"], /^3rd in line for M1, busy until about .*12:59$/);
  assert.equal(said["nothing stands in its way"], "nothing stands in its way: M1 is idle");
  assert.equal(said["some are let go"].split(",")[0], "operation 20 has passed on 30 of 80");
  assert.equal(said["held"], "held: crack?");
  assert.equal(said["outside"], "out until about Thu 5 Mar");
  for (const [name, text] of Object.entries(said)) {
    assert.doesNotMatch(text, /why\.|\{\d\}|undefined/, name);
    if (name !== "a machine that works") assert.notEqual(text, "", name);
  }
});
