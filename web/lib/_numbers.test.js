import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";
import { entry, fixed, hours, number, percent, tidy, typed, wholePercent } from "./numbers.js";

english("shared");

test("numbers have their thousands apart and a decimal only while they are small", () => {
  assert.equal(number(12345.6), "12,346");
  assert.equal(number(4.28), "4.3");
  assert.equal(number(4), "4");
  assert.equal(tidy(12345.67), "12,345.7");
  assert.equal(fixed(-1234.5, 2), "−1,234.50");
});

test("a decimal is typed with a point or a comma", () => {
  for (const [text, want] of /** @type {[string, number][]} */ ([
    ["2.5", 2.5],
    ["2,5", 2.5],
    [" 120 ", 120],
    ["−1,5", -1.5],
  ]))
    assert.equal(typed(text), want);
  for (const text of ["", " ", "1,2,3", "1.2,3", "two"]) assert.ok(Number.isNaN(typed(text)), text);
  assert.equal(entry(2.5), "2.5");
  assert.equal(entry(undefined), "");
});

test("a part of one has as many decimals as tell something", () => {
  for (const [x, want] of [
    [0, "0 %"],
    [1, "100 %"],
    [0.5, "50 %"],
    [0.049, "4.9 %"],
    [0.9512, "95.1 %"],
    [0.0004, "0.04 %"],
    [0.9996, "99.96 %"],
    [null, "–"],
    [undefined, "–"],
  ])
    assert.equal(percent(x), want, String(x));
  assert.equal(wholePercent(0.666), "67 %");
});

test("machine time is in hours, below a day a span", () => {
  assert.equal(hours(720 * 3600), "720 h");
  assert.equal(hours(320), "5 min 20 s");
  assert.equal(hours(29.5 * 3600), "30 h");
  assert.equal(hours(5.5 * 3600), "5 h 30 min");
});
