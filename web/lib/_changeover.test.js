import assert from "node:assert";
import test from "node:test";
import { begun, firstFit, HEAD_MS, mayReturn, others, REST_MS, wasAsked, wasLeft } from "./changeover.js";

const [A, B, C] = ["http://hall-1:8080", "http://hall-2:8080", "http://hall-3:8080"];

// A clock that stands until a test moves it on.
class Clock {
  now = 0;
  due = [];
  wait = (ms) => new Promise((done) => this.due.push({ at: this.now + ms, done }));
  async to(ms) {
    for (;;) {
      for (let i = 0; i < 20; i++) await Promise.resolve();
      const next = this.due.filter((d) => d.at <= ms).sort((x, y) => x.at - y.at)[0];
      if (!next) break;
      this.due.splice(this.due.indexOf(next), 1);
      this.now = next.at;
      next.done();
    }
    this.now = ms;
  }
}

// servers answers as each does: {after ms, fit}; one that is not named hangs for two seconds
// and is then given up, as a request is.
function servers(clock, of) {
  const asked = [];
  const ask = async (base) => {
    asked.push(base);
    const { after = 2000, fit = false } = of[base] || {};
    await clock.wait(after);
    return fit ? base : null;
  };
  return { ask, asked };
}

async function chosen(at, rest, of) {
  const clock = new Clock();
  const { ask, asked } = servers(clock, of);
  let got, when;
  firstFit(at, rest, ask, clock.wait).then((x) => ([got, when] = [x, clock.now]));
  await clock.to(10000);
  assert.deepEqual(asked, [at, ...rest], "all are asked at once");
  return [got, when];
}

test("the server that is asked now stays, unless it is much later than another", async () => {
  const ok = (after) => ({ after, fit: true });
  assert.deepEqual(await chosen(A, [B, C], { [A]: ok(50), [B]: ok(10), [C]: ok(10) }), [A, 50]);
  assert.deepEqual(await chosen(A, [B, C], { [A]: ok(1500), [B]: ok(10), [C]: ok(20) }), [B, 10 + HEAD_MS]);
  // It refuses, or says that it takes nothing: then at once.
  assert.deepEqual(await chosen(A, [B, C], { [A]: { after: 1 }, [B]: ok(30), [C]: ok(20) }), [C, 20]);
  // It hangs.
  assert.deepEqual(await chosen(A, [B], { [B]: ok(5) }), [B, 5 + HEAD_MS]);
  // The others are dead, hung, or do not know this device.
  assert.deepEqual(await chosen(A, [B, C], { [A]: ok(1900), [B]: { after: 1 } }), [A, 1900]);
  assert.deepEqual(await chosen(A, [], { [A]: ok(5) }), [A, 5]);
  assert.deepEqual(await chosen(A, [B], { [B]: { after: 3 } }), [null, 2000]);
  assert.deepEqual(await chosen(A, [], {}), [null, 2000]);
});

test("the page's own server is asked again when it was fit for long, longer after each break", () => {
  let c = wasLeft(begun(), 1000);
  const fitFor = (from, ms) => {
    for (let t = from; t <= from + ms; t += 5000) c = wasAsked(c, true, t);
    return mayReturn(c, from + ms);
  };
  assert.ok(!mayReturn(c, 1e9), "never asked, so not known to be fit");
  assert.ok(!fitFor(2000, REST_MS - 5000));
  c = wasAsked(c, false, 30000); // it went again
  assert.ok(!fitFor(35000, REST_MS - 5000));
  assert.ok(fitFor(35000, REST_MS));
  // It flaps: twice as long each time, and at most ten minutes.
  c = wasLeft(c, 70000);
  assert.ok(!fitFor(75000, REST_MS));
  assert.ok(fitFor(75000, 2 * REST_MS));
  for (let i = 0; i < 8; i++) c = wasLeft(c, 200000 + i);
  assert.ok(!fitFor(205000, 9 * 60000));
  assert.ok(fitFor(205000, 10 * 60000));
  // A quiet hour later it is as good as any.
  c = wasLeft(c, 3600000);
  assert.ok(fitFor(3605000, REST_MS));
});

test("the other servers are those that the page may ask, the way it came itself", () => {
  const list = [
    { name: "one", url: "https://hall-1:8443" },
    { name: "two", url: "https://hall-2:8443/" },
    { name: "three", url: "http://hall-3" },
    { name: "none", url: "" },
    { name: "odd", url: "hall 4" },
    { name: "again", url: "https://HALL-2:8443" },
  ];
  assert.deepEqual(others(list, "https://hall-1:8443"), {
    home: "one",
    list: [
      { name: "two", base: "https://hall-2:8443" },
      { name: "three", base: "https://hall-3:80" },
    ],
  });
  assert.deepEqual(others(list, "http://hall-1:8443"), {
    home: "one",
    list: [
      { name: "two", base: "http://hall-2:8443" },
      { name: "three", base: "http://hall-3" },
    ],
  });
  // The page came by an address that is none of theirs, such as the shop's public URL.
  assert.equal(others(list, "https://shop.test").home, "shop.test");
  assert.equal(others(list, "https://shop.test").list.length, 3);
});
