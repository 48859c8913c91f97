import assert from "node:assert/strict";
import test from "node:test";
import { nearest, newSight, squareOf, stretch } from "./frames.js";

test("a code counts once while it stays in the picture", () => {
  const s = newSight();
  assert.equal(s.sees("A", 0), true);
  for (let at = 100; at < 60000; at += 100) assert.equal(s.sees("A", at), false);
});

test("pictures that show nothing in between do not make it a new one", () => {
  const s = newSight();
  s.sees("A", 0);
  for (let at = 100; at < 1500; at += 100) assert.equal(s.sees("", at), false);
  assert.equal(s.sees("A", 1499), false);
});

test("it counts again once it has left, and so does another at once", () => {
  const s = newSight();
  s.sees("A", 0);
  assert.equal(s.sees("A", 1500), true);
  assert.equal(s.sees("B", 1600), true);
  assert.equal(s.sees("A", 1700), true);
  assert.equal(s.sees("", 9000), false);
});

test("a camera that sees nothing is idle after two minutes", () => {
  const s = newSight();
  s.opens(1000);
  assert.equal(s.isIdle(120999), false);
  assert.equal(s.isIdle(121001), true);
  s.sees("A", 100000);
  assert.equal(s.isIdle(200000), false);
  assert.equal(s.isIdle(220001), true);
});

test("a square in the middle is read, no larger than is quick", () => {
  assert.deepEqual(squareOf(1280, 720), { x: 298, y: 18, side: 684, to: 684 });
  assert.deepEqual(squareOf(480, 640), { x: 12, y: 92, side: 456, to: 456 });
  assert.equal(squareOf(3840, 2160).to, 720);
});

test("of several codes the nearest to the middle", () => {
  const codes = [
    { text: "far", x: 10, y: 10 },
    { text: "near", x: 300, y: 330 },
    { text: "below", x: 320, y: 600 },
  ];
  assert.equal(nearest(codes, 320), "near");
  assert.equal(nearest([], 320), "");
});

/** @type {(levels: number[]) => Uint8ClampedArray} */
const greys = (levels) => new Uint8ClampedArray(levels.flatMap((l) => [l, l, l, 255]));

test("a dim picture takes all levels, a bright one stays as it is", () => {
  const dim = greys(Array.from({ length: 400 }, (_, i) => (i % 8 < 4 ? 10 : 40)));
  stretch(dim);
  assert.deepEqual([...dim.slice(0, 4), ...dim.slice(16, 20)], [0, 0, 0, 255, 255, 255, 255, 255]);
  const bright = greys(Array.from({ length: 400 }, (_, i) => (i % 8 < 4 ? 10 : 240)));
  const before = [...bright];
  stretch(bright);
  assert.deepEqual([...bright], before);
  const flat = greys(Array(400).fill(7));
  stretch(flat);
  assert.equal(flat[0], 7);
});
