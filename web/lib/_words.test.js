import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";
import { count, known, say, stateWord, useWords } from "./words.js";

test("a sentence is filled; a key without one shows as it is", () => {
  useWords({ a: "{1} of {0}", "n.one": "1 batch", "n.other": "{0} batches, {1} late" });
  assert.equal(say("a", 5, "two"), "two of 5");
  assert.equal(say("a", 0), " of 0");
  assert.equal(say("none.such"), "none.such");
  assert.equal(known("none.such", "else {0}", 3), "else 3");
  assert.equal(known("a", "else", 1, 2), "2 of 1");
});

// Plural forms of English: Unicode CLDR, one and other.
test("a count takes the form of its language", () => {
  for (const [n, want] of [
    [1, "1 batch"],
    [0, "0 batches, 2 late"],
    [2, "2 batches, 2 late"],
    [21, "21 batches, 2 late"],
  ])
    assert.equal(count("n", n, 2), want);
  assert.equal(count("none", 2), "none");
});

test("a state has one word for all pages; a new one shows as it comes", () => {
  english("shared");
  assert.equal(stateWord("ready"), "first-off passed");
  assert.equal(stateWord("asleep"), "asleep");
  assert.equal(stateWord(""), "");
});
