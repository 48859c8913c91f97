import assert from "node:assert/strict";
import test from "node:test";

// What a browser has around the page.
const seen = [];
globalThis.location = /** @type {any} */ ({ pathname: "/history", search: "?part=P1&from=2026-01-01" });
globalThis.addEventListener = () => {};
const go = (how) => (_state, _title, address) => {
  seen.push([how, address]);
  location.search = address.includes("?") ? address.slice(address.indexOf("?")) : "";
};
globalThis.history = /** @type {any} */ ({ pushState: go("push"), replaceState: go("replace") });
const { choose, chosen, query, selection } = await import("./filters.js");

test("filters are in the address; empty ones go from it", () => {
  assert.deepEqual(chosen.value, { part: "P1", from: "2026-01-01" });
  choose({ part: "P 2&x", from: "" });
  assert.deepEqual(chosen.value, { part: "P 2&x" });
  assert.deepEqual(seen.at(-1), ["push", "/history?part=P+2%26x"]);
  choose({ part: null }, { replace: true });
  assert.deepEqual(seen.at(-1), ["replace", "/history"]);
  assert.deepEqual(chosen.value, {});
});

test("the API is asked for the filters that it is given, and for no others", () => {
  choose({ customer: "K7", works_order: "W-1", view: "ahead" });
  assert.equal(query(selection), "customer=K7&works_order=W-1");
  assert.equal(query(["customer"], { by: "reason", kind: "" }), "customer=K7&by=reason");
});
