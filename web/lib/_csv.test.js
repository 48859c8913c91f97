import assert from "node:assert/strict";
import test from "node:test";
import { csvText } from "./csv.js";

// RFC 4180, 2: lines end with CRLF; commas, quotes and line ends are quoted,
// quotes doubled.
test("a table is written as RFC 4180 has it", () => {
  const text = csvText(
    ["a", "b,c"],
    [
      ["x", 'say "hi"'],
      [1.5, "two\nlines"],
      [null, undefined],
    ],
  );
  assert.equal(text, 'a,"b,c"\r\nx,"say ""hi"""\r\n1.5,"two\nlines"\r\n,\r\n');
});

// What a spreadsheet takes for a formula: OWASP, CSV injection.
test("no text becomes a formula; numbers stay numbers", () => {
  for (const s of ["=1+1", "+1", "-1", "@sum", "\tx", "'x"]) {
    const [, row] = csvText(["h"], [[s]]).split("\r\n");
    assert.ok(row.replace(/^"/, "").startsWith("'" + s[0]), row);
  }
  assert.equal(csvText(["h"], [[-1]]), "h\r\n-1\r\n");
});
