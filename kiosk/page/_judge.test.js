// The page judges what happens to a batch by itself, and has to come to what the
// program's own rules say: kiosk/testdata/cases.json is made by them.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { applied, knownFrom } from "./apply.js";
import { misfit } from "./fits.js";
import { viewOf } from "./judge.js";

const { machines, walks } = JSON.parse(
  readFileSync(new URL("../testdata/cases.json", import.meta.url), "utf8"),
);

// The line that the program's test writes of a view.
function line(v) {
  const f = v.first_off;
  let out =
    `op ${v.operation} visit ${v.visit || ""} ${v.visit_state || ""} left ${v.left} of ${v.of} ` +
    `good ${v.good} scrap ${v.scrap} rework ${v.rework} review ${v.review} missing ${v.missing} ` +
    `first ${f.wanted} ${f.state} by ${f.by || ""} ` +
    `short ${v.short} waiting ${v.rework_waiting} ${v.review_waiting} ` +
    `blocked ${v.blocked} wait ${v.wait_reason || ""}:`;
  for (const x of v.steps) {
    out += ` ${x.key}(${(x.args || []).join(",")})${x.operation || ""}#${x.visit || ""}`;
    for (const more of [x.phase, x.for, x.reason, x.to, x.work_centre, x.needs]) if (more) out += "/" + more;
    if (x.pieces) out += "=" + x.pieces;
    if (x.likely) out += "!";
  }
  for (const t of v.things) out += ` ${t.thing}=${t.state || ""}`;
  for (const n of v.others) out += ` ?${n.key}(${n.args.join(",")})`;
  return out;
}

walks.forEach((walk, i) => {
  test(`walk ${i}, of ${walk.said.length} scans`, () => {
    let known = knownFrom(walk.known);
    for (const { role, scan, refused = "", offer = false, views } of walk.said) {
      const m = misfit(known, scan, machines, role);
      const what = `${scan.id} ${scan.action} at ${scan.station} by ${role}`;
      assert.equal(m ? [m.key, ...m.args].join("|") : "", refused, what);
      if (m) assert.equal(m.offer, offer, what);
      const at = Date.parse(scan.at);
      if (!m) known = applied(known, scan, machines, at);
      for (const [who, want] of Object.entries(views)) {
        const [id, as, comes] = who.split(" ");
        assert.equal(
          line(viewOf(known, machines, id, as, { now: at, arrives: comes === "comes" })),
          want,
          `after ${what}, at ${who}`,
        );
      }
    }
  });
});
