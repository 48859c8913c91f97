import assert from "node:assert/strict";
import test from "node:test";
import {
  across,
  fitColumns,
  namesAndCentres,
  namesOf,
  packLines,
  runsAndRest,
  schematic,
} from "./wall-fit.js";

const rows = (n, late = 0) => Array.from({ length: n }, (_, i) => ({ i, late: i < late }));
const room = { lines: 8, cols: 2, head: 1 };

test("what has room stands on one page", () => {
  const pages = namesAndCentres(rows(2, 1), rows(9, 1), room);
  assert.deepEqual(
    pages.map((p) => [p.a.length, p.more, p.b.length]),
    [[2, 0, 9]],
  );
});

test("batches without room are counted, and no page turns for them", () => {
  const pages = namesAndCentres(rows(20, 2), rows(6, 2), room);
  assert.equal(pages.length, 1);
  const [p] = pages;
  assert.deepEqual([p.a.length, p.more, p.b.length], [3, 17, 6]);
});

test("a page is full before another turns, and nothing late is on a later one", () => {
  for (const [a, lateA, b, lateB] of [
    [20, 9, 30, 9],
    [0, 0, 40, 3],
    [3, 3, 40, 10],
    [40, 40, 14, 14],
  ]) {
    const pages = namesAndCentres(rows(a, lateA), rows(b, lateB), room);
    assert.ok(pages.length <= 3);
    for (const [i, p] of pages.entries()) {
      const used = p.a.length + (p.more ? 1 : 0) + 1 + Math.ceil(p.b.length / 2);
      assert.ok(used <= room.lines, `page ${i} of ${a}, ${b}: ${used} lines`);
      if (i < pages.length - 1) assert.equal(used, room.lines, "a page that is not full turns");
      if (i > 0) assert.ok(![...p.a, ...p.b].some((x) => x.late), "late on a later page");
    }
    // A batch that is late and not named is in the count of its centre, which is here.
    assert.equal(pages[0].b.filter((x) => x.late).length, Math.min(lateB, 14));
  }
});

test("what runs turns pages where it must; the rest fills the last one", () => {
  const lines = { lines: 5, head: 1 };
  const of = (n) => Array.from({ length: n }, () => ({ lines: 1 }));
  assert.deepEqual(
    runsAndRest(rows(2), of(9), lines).map((p) => [p.a.length, p.b.length]),
    [[2, 2]],
  );
  assert.deepEqual(
    runsAndRest(rows(8, 3), of(9), lines).map((p) => [p.a.length, p.b.length]),
    [
      [5, 0],
      [3, 1],
    ],
  );
  const many = runsAndRest(rows(9, 8), of(9), lines);
  assert.deepEqual([many[0].a.length, many[0].more], [4, 4]);
  assert.ok(many.slice(1).every((p) => p.a.every((x) => !x.late)));
});

test("columns go by what matters least until the others fit", () => {
  const width = (text) => text.length * 10;
  const specs = [
    { key: "name", text: (r) => r.name, drop: 0 },
    { key: "why", text: (r) => r.why, drop: 2 },
    { key: "late", text: (r) => r.late, drop: 1 },
    { key: "none", text: () => "", drop: 3 },
  ];
  const list = [
    { name: "W-1", why: "material", late: "2 d" },
    { name: "W-10", why: "", late: "" },
  ];
  const keys = (room) => fitColumns(list, specs, room, 10, width).used.map((s) => s.key);
  // By hand: 40 + 10 + 80 + 10 + 30 = 170; without why 80; the name alone 40.
  assert.deepEqual(keys(170), ["name", "why", "late"]);
  assert.deepEqual(keys(169), ["name", "late"]);
  assert.deepEqual(keys(79), ["name"]);
  assert.deepEqual(keys(10), ["name"]);
  assert.equal(fitColumns(list, specs, 175, 10, width).left, 5);
  assert.equal(across(40, 90, 10), 2);
  assert.equal(across(400, 90, 10), 1);
  assert.equal(packLines([40, 40, 40], 90, 10), 2);
  assert.equal(packLines([40, 40], 90, 10), 1);
});

test("where a works order has several cards, what tells them apart stands beside it", () => {
  const list = [
    { card: "B1", works_order: "W-1", part: "p" },
    { card: "B2", works_order: "W-1", part: "p" },
    { card: "B3", works_order: "W-2", part: "p" },
    { card: "B3", works_order: "W-2", part: "p" },
    { card: "B4", works_order: "W-3", part: "p" },
    { card: "B5", works_order: "W-3", part: "q" },
    { card: "B6", part: "q" },
  ];
  const name = namesOf(list);
  assert.deepEqual(
    list.map((r) => [name(r).name, name(r).beside].join(" ").trim()),
    ["W-1 B1", "W-1 B2", "W-2", "W-2", "W-3 p", "W-3 q", "B6"],
  );
});

test("a schematic keeps places as they lie, none on another", () => {
  // A hall: two rows of three, and one between.
  const cells = [
    ["A", 0, 0],
    ["B", 20, 0],
    ["C", 40, 0],
    ["D", 0, 30],
    ["E", 20, 30],
    ["F", 40, 30],
    ["G", 20, 15],
  ].map(([key, x, y]) => ({ key, x, y, w: 100, need: key === "C" ? 0 : 1 }));
  const lie = (s) => Object.fromEntries(s.at.map(({ c, col, row }) => [c.key, [col, row]]));
  const wide = schematic(cells, { w: 320, rows: 3, gap: 10 });
  assert.deepEqual(lie(wide), {
    A: [0, 0],
    D: [0, 2],
    B: [1, 0],
    G: [1, 1],
    E: [1, 2],
    C: [2, 0],
    F: [2, 2],
  });
  for (const [w, rows] of [
    [320, 3],
    [210, 4],
    [100, 7],
    [210, 2],
    [100, 1],
  ]) {
    const s = schematic(cells, { w, rows, gap: 10 });
    const taken = s.at.map(({ col, row }) => col + "," + row);
    assert.equal(new Set(taken).size, taken.length, "two cells in one place");
    assert.ok(s.at.every(({ row }) => row >= 0 && row < rows));
    assert.ok(s.cols.reduce((n, x) => n + x + 10, -10) <= Math.max(w, 100));
    assert.equal(s.at.length, s.shown.length);
  }
  // Two columns of two rows have room for four: what matters least goes first.
  assert.ok(!schematic(cells, { w: 210, rows: 3, gap: 10 }).shown.some((c) => c.key === "C"));
});
