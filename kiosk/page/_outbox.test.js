// The outbox against a server of a few lines.

import assert from "node:assert";
import test from "node:test";
import { english } from "../../web/lib/_english.js";
import { browser } from "./_browser.js";

english("shared");

let away = false;
let server;
browser((path, body) => {
  if (away) throw new TypeError("nothing answers");
  return server.answer(path, body);
});

// Keeps what it is sent, and answers as the writer does: the same again, a
// refused one refused, a split with a card. Copies of it are put back in tests.
class Server {
  constructor(epoch, record = []) {
    this.epoch = epoch;
    this.record = new Map(record);
    this.requests = [];
  }

  answer(path, body) {
    if (path === "/api/v1/me") return { epoch: this.epoch };
    this.requests.push(body);
    return { epoch: this.epoch, results: body.scans.map((s) => this.scan(s)) };
  }

  scan(s) {
    const old = this.record.get(s.id);
    if (old) return { ...old, again: true };
    const believed = s.before && s.epoch !== this.epoch ? s.before : null;
    const outcome = believed ? believed.outcome : s.good > 50 ? "refused" : "kept";
    const r = {
      id: s.id,
      outcome,
      again: false,
      seq: this.record.size + 1,
      say: believed ? "before the record was put back" : outcome,
    };
    if (s.action === "split") r.issued = this.card(believed);
    this.record.set(s.id, r);
    return r;
  }

  card(believed) {
    return this.takes && believed ? believed.issued : `B-${this.epoch}`;
  }
}

const load = async () => {
  const outbox = await import("./outbox.js");
  const box = await import("./box.js");
  const own = await import("./ownscans.js");
  return { ...outbox, ...box, ...own };
};

let page;
const until = async (holds) => {
  for (let i = 0; !holds(); i++) {
    assert.ok(i < 5000, "it never came to that");
    await new Promise(setImmediate);
  }
};
const idle = () => until(() => page.link.value.waiting === 0);

// A station with a kept scan, a refused one, a split, and one that waits.
async function station(epoch) {
  page ??= await load();
  await page.dropScans(page.allScans().map((e) => e.n));
  away = false;
  server = new Server(epoch);
  server.takes = true;
  await page.startOutbox();
  await page.setDevice("D1");
  await page.setEpoch(epoch);
  await page.sayScan({ card: "B1", action: "count", good: 5 });
  const copy = [...server.record];
  await page.sayScan({ card: "B1", action: "count", good: 99 });
  await page.sayScan({ card: "B1", action: "split", pieces: 2 });
  return copy;
}

const states = async () => (await page.allScans()).map((e) => e.state);

test("after a restore, what the copy lacks is sent again with how it was answered", async () => {
  const copy = await station("one");
  server = new Server("two", copy);
  server.takes = true;
  await page.setEpoch("two");
  await idle();
  const sent = server.requests.flatMap((r) => r.scans);
  assert.deepEqual(
    sent.map((s) => [s.before?.outcome, s.before?.seq, s.before?.issued, s.epoch]),
    [
      ["kept", 1, "", "one"],
      ["refused", 2, "", "one"],
      ["kept", 3, "B-one", "one"],
    ],
  );
  assert.deepEqual(await states(), ["kept", "refused", "kept"]);
  assert.equal((await page.allScans())[2].issued, "B-one");
  assert.equal(server.record.size, 3);
  // The first answer says why; nobody need read it again.
  assert.equal((await page.allScans())[1].say, "refused");
  assert.deepEqual(page.later.value, []);
  for (const e of await page.allScans()) assert.ok(!("before" in e) && e.epoch === "two");
});

test("a new epoch is noticed from the answer to a scan, and that scan is not sent twice", async () => {
  const copy = await station("three");
  server = new Server("four", copy);
  const e = await page.sayScan({ card: "B1", action: "count", good: 1 });
  assert.equal(e.state, "kept");
  await idle();
  const ids = server.requests.flatMap((r) => r.scans).map((s) => s.id);
  assert.equal(ids.filter((id) => id === e.id).length, 1);
  assert.equal(ids.length, 4);
  // The basis counts in the new record.
  await page.sayScan({ card: "B1", action: "count", good: 1 });
  const last = server.requests.at(-1).scans[0];
  assert.ok(last.basis <= server.record.size, `basis ${last.basis} of ${server.record.size}`);
  assert.equal(last.epoch, "four");
  assert.ok(!("before" in last));
});

test("a second restore before all is sent keeps the first answer", async () => {
  await station("five");
  away = true;
  await page.setEpoch("six");
  await until(() => page.link.value.alone);
  await page.setEpoch("seven");
  away = false;
  server = new Server("seven");
  page.kick(true);
  await idle();
  assert.deepEqual(await states(), ["kept", "refused", "kept"]);
  assert.deepEqual(
    server.requests[0].scans.map((s) => s.epoch),
    ["five", "five", "five"],
  );
});

test("a box that gets another card is told", async () => {
  await station("eight");
  server = new Server("nine");
  await page.setEpoch("nine");
  await idle();
  assert.deepEqual(
    page.later.value.map((e) => e.issued),
    ["B-nine"],
  );
});

test("while it waits to be sent again, a refused scan still stands as refused", async () => {
  await station("ten");
  away = true;
  await page.setEpoch("eleven");
  assert.deepEqual(
    page.saidSince(["B1"], Infinity).map(({ scan }) => scan.good ?? scan.action),
    [5, "split"],
  );
  assert.equal(page.lastOwn(60000).scan.action, "split");
  away = false;
  server = new Server("eleven");
  page.kick(true);
  await idle();
});

test("a scan that the record has in other words stays answered as it was", async () => {
  await station("twelve");
  server = new Server("thirteen");
  server.scan = (s) => ({
    id: s.id,
    outcome: "refused",
    status: 409,
    say: "used for something else",
    again: false,
    seq: 0,
  });
  await page.setEpoch("thirteen");
  await idle();
  assert.deepEqual(await states(), ["kept", "refused", "kept"]);
  assert.deepEqual(page.later.value, []);
});

test("a server that comes back is asked which record it has", async () => {
  const copy = await station("fourteen");
  page.heard(false);
  server = new Server("fifteen", copy);
  page.heard(true);
  await until(() => server.requests.length > 0);
  await idle();
  assert.equal(server.record.size, 3);
});

test("5,000 scans are sent in their order, each once, 50 at a time", async () => {
  await station("sixteen");
  away = true;
  await page.setEpoch("sixteen");
  page.heard(false);
  for (let i = 0; i < 5000; i++) page.sayScan({ card: "B2", action: "count", good: 1, note: String(i) });
  await until(() => page.link.value.waiting === 5000);
  away = false;
  page.heard(true);
  await idle();
  const sent = server.requests.flatMap((r) => r.scans).filter((s) => s.card === "B2");
  assert.equal(new Set(sent.map((s) => s.id)).size, 5000);
  const notes = sent.map((s) => Number(s.note));
  assert.deepEqual(
    notes,
    [...notes].sort((a, b) => a - b),
  );
  assert.ok(server.requests.every((r) => r.scans.length <= 50));
});

test("what was said here stands on what the server knew, until it knows it", async () => {
  await station("seventeen");
  await page.sayScan({ card: "B3", action: "setup" });
  away = true;
  page.sayScan({ card: "B3", action: "run" });
  const undone = page.sayScan({ id: "018f3b6e-7c1a-7b3e-9c4d-000000000001", card: "B3", action: "stop" });
  page.sayScan({ card: "B3", action: "undo", for: "018f3b6e-7c1a-7b3e-9c4d-000000000001" });
  await until(() => page.link.value.waiting === 3);
  const said = (seq) => page.saidSince(["B3"], seq).map((e) => e.scan.action);
  assert.deepEqual(said(0), ["setup", "run"], "the server's answer lacks the set-up still");
  assert.deepEqual(said(server.record.size), ["run"]);
  away = false;
  page.kick(true);
  await idle();
  await undone;
  assert.deepEqual(said(server.record.size), []);
});
