import assert from "node:assert/strict";
import test from "node:test";
import { laid, pasted, revised, separated } from "./cells.js";

test("cells with separators are quoted, empty lines left out", () => {
  const rows = [
    ["a;b", 'say "x"'],
    ["", "  "],
    ["1,5", "plain"],
  ];
  assert.equal(separated(["p", "q"], rows), 'p;q\n"a;b";"say ""x"""\n1,5;plain\n');
});

test("what is pasted from a spreadsheet fills cells from one on", () => {
  assert.equal(pasted("one"), null);
  assert.deepEqual(pasted("a\tb\r\nc\td\r\n"), [
    ["a", "b"],
    ["c", "d"],
  ]);
  const at = { row: 1, column: 1, width: 3 };
  assert.deepEqual(laid([["1", "2", "3"]], [["x", "y", "z"], ["v"]], at), [
    ["1", "2", "3"],
    ["", "x", "y"],
    ["", "v", ""],
  ]);
});

test("a route under another revision, and of another part", () => {
  const head = ["part", "route_rev", "operation"];
  assert.deepEqual(revised(head, [["P", "A", "10"]], "", "B"), [["P", "B", "10"]]);
  assert.deepEqual(revised(head, [["P", "A", "10"]], "Q", "1"), [["Q", "1", "10"]]);
});
