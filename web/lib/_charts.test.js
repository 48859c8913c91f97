import assert from "node:assert/strict";
import test from "node:test";
import { nextDot, steps } from "./charts.js";
import { sum, ticks } from "./strip.js";
import { setZone, zoneOffset } from "./times.js";

// By hand, of five dots.
test("keys go from dot to dot and stay within the chart", () => {
  for (const [key, i, want] of [
    ["ArrowRight", 0, 1],
    ["ArrowRight", 4, 4],
    ["ArrowLeft", 2, 1],
    ["ArrowLeft", 0, 0],
    ["End", 1, 4],
    ["Home", 3, 0],
    ["Tab", 3, null],
  ])
    assert.equal(nextDot(key, i, 5), want, `${key} from ${i}`);
});

test("a scale has some four to seven round values from zero to its top", () => {
  for (const top of [0.003, 0.7, 1, 4, 9.99, 57, 100, 1234, 86400]) {
    const list = steps(top);
    assert.ok(list.length >= 4 && list.length <= 8, `${top}: ${list}`);
    assert.equal(list[0], 0);
    assert.ok(list[list.length - 1] <= top * 1.0001, `${top}: ${list}`);
    const step = list[1] / 10 ** Math.floor(Math.log10(list[1]) + 1e-9);
    assert.ok(
      [1, 2, 2.5, 5, 10].some((n) => Math.abs(n - step) < 1e-6),
      `${top} goes by ${list[1]}`,
    );
  }
  assert.deepEqual(steps(0), [0]);
  assert.deepEqual(steps(NaN), [0]);
});

test("a scale in days has whole days", () => {
  for (const v of steps(20 * 86400, 86400)) assert.equal((v / 86400) % 0.5, 0);
});

test("ticks are round times of the shop's clock, and not too many", () => {
  setZone("Europe/Berlin");
  const from = Date.parse("2026-11-25T07:13:20Z");
  for (const hours of [0.5, 3, 10, 30, 24 * 9, 24 * 70]) {
    const to = from + hours * 3600e3;
    const { step, list } = ticks(from, to, 8);
    assert.ok(list.length <= 9, `${hours} h: ${list.length}`);
    for (const t of list) {
      assert.ok(t >= from && t <= to);
      assert.equal((t + zoneOffset(from)) % step, 0, `${hours} h`);
    }
  }
});

test("the parts of a lead time are added up, what is no part is not", () => {
  assert.equal(sum({ run_s: 10, queue_s: 5, other_s: 99 }), 15);
});
