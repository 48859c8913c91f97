// A station whose record is kept by two servers, which die, hang, refuse and come back.

import assert from "node:assert";
import test from "node:test";
import { english } from "../../web/lib/_english.js";
import { browser } from "./_browser.js";

english("shared");
const [A, B] = ["http://hall-1:8080", "http://hall-2:8080"];
const servers = [
  { name: "hall 1", url: A },
  { name: "hall 2", url: B },
];

// What each server does: answer, die, be closing, or not know the device.
const does = { [A]: "answer", [B]: "answer" };
const record = new Map();
let at = 1000; // the monotonic clock
performance.now = () => at;
let asked = [];

globalThis.location = { origin: A, protocol: "http:", port: "8080", pathname: "/station" };
browser((path, body) => {
  const at = path.startsWith("http") ? new URL(path).origin : A;
  const way = path.replace(at, "").split("?")[0];
  asked.push({ at, way });
  if (!does[at]) throw new Error(`${at} is none of ours`);
  if (does[at] === "die") throw new TypeError("nothing answers");
  if (does[at] === "close" && way !== "/api/v1/me") return { status: 503, detail: "closing" };
  if (does[at] === "unknown" && way !== "/readyz") return { status: 401 };
  return answers(at, way, body);
});
const kept = new Map();
globalThis.localStorage = {
  getItem: (k) => kept.get(k) ?? null,
  setItem: (k, v) => kept.set(k, v),
  removeItem: (k) => kept.delete(k),
};
const stub = globalThis.fetch;
globalThis.fetch = (path, init) => {
  const pass = init.headers["X-Tallywalk-Device"];
  assert.equal(pass, path.startsWith("http") ? "secret" : undefined, `${path} with the pass ${pass}`);
  return stub(path, init);
};

function answers(at, way, body) {
  const hours = at === A ? 10 : 13; // their clocks are three hours apart
  const now = `2026-11-25T${hours}:00:00Z`;
  if (way === "/api/v1/me") return { epoch: "one", how: "station", now, servers };
  if (way === "/api/v1/crossing") return { pass: "secret" };
  if (way !== "/api/v1/scans") return { status: 200 };
  const results = body.scans.map((s) => {
    const again = record.has(s.id);
    if (!again) record.set(s.id, at);
    return { id: s.id, outcome: "kept", again, seq: record.size };
  });
  if (does[at] === "take and die") throw new TypeError("the answer is lost");
  return { epoch: "one", results };
}

const outbox = await import("./outbox.js");
const box = await import("./box.js");
const { away, learnServers, lookAround } = await import("../../web/lib/servers.js");
const { askedNow, get } = await import("../../web/lib/api.js");
const { now } = await import("../../web/lib/clock.js");

const until = async (holds) => {
  for (let i = 0; !holds(); i++) {
    assert.ok(i < 20000, "it never came to that");
    await new Promise(setImmediate);
  }
};
const scan = () => outbox.sayScan({ card: "B1", action: "count", good: 1 });
const sentTo = (at) => asked.filter((x) => x.at === at && x.way === "/api/v1/scans").length;

test.before(async () => {
  await outbox.startOutbox();
  await outbox.setDevice("D1");
  await learnServers(await get("/api/v1/me"));
});
test.beforeEach(async () => {
  at += 1000;
  Object.assign(does, { [A]: "answer", [B]: "answer" });
  outbox.heard(true);
  if (askedNow()) {
    does[B] = "die";
    await lookAround(); // home again
    does[B] = "answer";
  }
  asked = [];
});

test("while its own server is fit, the station asks no other", async () => {
  assert.equal((await scan()).state, "kept");
  assert.equal(away.value, null);
  assert.ok(asked.every((x) => x.at === A));
});

test("its server dies: the other one takes the scan, and lends no clock", async () => {
  does[A] = "die";
  const e = await scan();
  assert.equal(e.state, "kept");
  assert.equal(record.get(e.id), B);
  assert.deepEqual(away.value, { own: "hall 1", other: "hall 2" });
  assert.ok(!outbox.link.value.alone);
  const hour = (ms) => new Date(ms).toISOString().slice(11, 13);
  assert.equal(hour(now()), "13");
  const next = await scan();
  assert.equal(hour(Date.parse(next.scan.at) + next.scan.offset_ms), "13");
});

test("a scan whose answer was lost is sent again in the same words, and is there once", async () => {
  does[A] = "take and die";
  const size = record.size;
  const said = scan();
  await until(() => record.size > size && outbox.link.value.alone);
  does[A] = "die";
  at += 1000;
  outbox.notHeard({ passing: true, base: "" });
  const e = await said;
  assert.equal(e.state, "kept");
  assert.equal(record.get(e.id), A);
  assert.equal(record.size, size + 1);
  assert.equal(sentTo(B), 1);
});

test("its server is closing, or its disk is full: the other one takes the scan", async () => {
  does[A] = "close";
  const e = await scan();
  assert.equal(record.get(e.id), B);
});

test("both die, and the second comes back first: what waited goes there", async () => {
  does[A] = does[B] = "die";
  const said = scan();
  await until(() => outbox.link.value.alone);
  assert.equal(outbox.link.value.waiting, 1);
  does[B] = "answer";
  at += 1000;
  outbox.notHeard({ passing: true, base: askedNow() });
  assert.equal(record.get((await said).id), B);
});

test("another server that does not know the device gets no scan and turns nobody away", async () => {
  does[A] = "die";
  does[B] = "unknown";
  const before = outbox.turnedAway.value;
  const said = scan();
  await until(() => outbox.link.value.alone && asked.some((x) => x.at === B));
  assert.equal(sentTo(B), 0);
  assert.equal(outbox.turnedAway.value, before);
  does[A] = "answer";
  outbox.heard(true);
  assert.equal(record.get((await said).id), A);
});

test("what was asked of a server that is not asked any more says nothing of the one that is", async () => {
  does[A] = "die";
  await scan();
  outbox.notHeard({ passing: true, base: "" });
  assert.ok(!outbox.link.value.alone);
});

test("a server that is taken off the list is asked for nothing more", async () => {
  does[A] = "die";
  await scan();
  does[A] = "answer";
  await learnServers({ how: "station", servers: servers.slice(0, 1) });
  assert.equal(askedNow(), "");
  asked = [];
  await scan();
  await lookAround();
  assert.ok(asked.every((x) => x.at === A));
  await box.dropScans(box.allScans().map((e) => e.n));
});
