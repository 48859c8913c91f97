import assert from "node:assert/strict";
import test from "node:test";
import "../../web/lib/_english.js";
import { checkChar, newDeviceCode, parseRef } from "./refs.js";

// Examples of ISO/IEC 7064, MOD 37-2.
test("check characters are those of the standard", () => {
  for (const [text, want] of [
    ["G123498654321", "H"],
    ["G123489654321", "Y"],
    ["A999915000001", "M"],
  ])
    assert.equal(checkChar(text), want);
});

test("a code is read from a card, an address and by hand, in any case", () => {
  const code = newDeviceCode();
  assert.match(code, /^D[0-9A-HJKMNP-TV-Z]{8}$/);
  for (const [text, op] of [
    [code, 0],
    [code.toLowerCase(), 0],
    [`${code.slice(0, 4)} ${code.slice(4)}`, 0],
    [`${code}/20`, 20],
    [`HTTPS://SHOP.EXAMPLE:8080/S/${code}/30`, 30],
    [`https://shop.example/s/${code}?x=1`, 0],
  ])
    assert.deepEqual(parseRef(String(text)), { code, op });
});

test("what has no right check character is text", () => {
  const code = newDeviceCode();
  const wrong = code.slice(0, 8) + (code[8] === "0" ? "1" : "0");
  for (const text of [wrong, "W-502", `${code}/0`, `${code}/x`, ""])
    assert.deepEqual(parseRef(text), { text });
});
