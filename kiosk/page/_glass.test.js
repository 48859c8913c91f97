import assert from "node:assert/strict";
import { test } from "node:test";
import { guessMillimetre } from "./glass.js";

// Screens as they are sold: pixels, ratio and diagonal in inches (from memory of data
// sheets; the shape, not the maker, counts). The guess is never below the truth, and a
// key of 20 mm by it never takes more than a third of the short side.
const SCREENS = [
  { what: "8 inch tablet, not scaled", width: 1280, height: 800, ratio: 1, inches: 8 },
  { what: "8 inch tablet, scaled", width: 962, height: 601, ratio: 1.33, inches: 8 },
  { what: "7.9 inch tablet of 163 an inch", width: 1024, height: 768, ratio: 2, inches: 7.9 },
  { what: "10.1 inch tablet", width: 1280, height: 800, ratio: 1.5, inches: 10.1 },
  { what: "15.6 inch panel", width: 1920, height: 1080, ratio: 1, inches: 15.6 },
  { what: "phone of 5.5 inches", width: 360, height: 740, ratio: 3, inches: 5.5 },
  { what: "phone of 6.5 inches", width: 412, height: 915, ratio: 2.6, inches: 6.5 },
];

test("a size that nobody measured is guessed on the large side", () => {
  for (const s of SCREENS) {
    const truth = Math.hypot(s.width, s.height) / (s.inches * 25.4);
    const mm = guessMillimetre({ ...s, touch: true });
    assert.ok(mm >= truth * 0.995, `${s.what}: ${mm} px a mm, in truth ${truth}`);
    assert.ok(20 * mm <= Math.min(s.width, s.height) / 2.7, `${s.what}: 20 mm are ${20 * mm} px`);
  }
});

test("a screen without touch is pressed with a mouse", () => {
  assert.equal(guessMillimetre({ width: 1920, height: 1080, ratio: 1, touch: false }), 4);
});
