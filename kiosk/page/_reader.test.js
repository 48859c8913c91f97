// Recorded rhythms are replayed key by key: what a scanner types is a code or a
// refusal, never a key of its own. That Bluetooth and cheap wired scanners take
// 50 to 120 ms a key is common practice, no source.

import assert from "node:assert/strict";
import test from "node:test";
import { CODES } from "./codes.js";
import { checkChar } from "./refs.js";
import { learnRhythm, newReader } from "./reader.js";

const CARD = codeWithDigits();
const RHYTHMS = [5, 20, 44, 50, 60, 100, 150];
const JITTERS = [0, 0.2, 0.4];
const WANTS = ["press", "digits", "text", "field"];
const HARMLESS = ["scan", "broken", "loose"];

// A card's code that is nearly all digits: each would press a button.
function codeWithDigits() {
  for (let n = 1234567; ; n++) {
    const c = "B" + n;
    if (/\d/.test(checkChar(c))) return c + checkChar(c);
  }
}

// The same numbers each time (Park and Miller's generator).
function luck(seed) {
  let s = seed;
  return () => (s = (s * 48271) % 2147483647) / 2147483647;
}

/** Replays keys: text, or places of it as '' for a key that was lost, each ms after the one before. */
function replay({
  keys,
  ms,
  jitter = 0,
  end = "Enter",
  wants = "press",
  reader = newReader(),
  from = 10000,
  seed = 7,
}) {
  const random = luck(seed);
  const out = [];
  let at = from;
  const put = (d) => d && out.push(d);
  const rest = (until) => {
    while (reader.due() < until) put(reader.rest(reader.due(), wants));
  };
  for (const k of [...keys, end]) {
    at += ms * (1 + jitter * (2 * random() - 1));
    rest(at);
    if (k === "Enter" || k === "Tab")
      put(reader.end(k, at, wants) ?? { kind: "press", tokens: [k], gaps: [], end: "" });
    else if (k) reader.key(k, at);
  }
  rest(at + 60000);
  return out;
}

const text = (d) => d.tokens.join("");

for (const ms of RHYTHMS) {
  for (const jitter of JITTERS) {
    for (const wants of WANTS) {
      test(`a code at ${ms} ms a key, jitter ${jitter}, into ${wants}`, () => {
        for (const end of ["Enter", "Tab", ""]) {
          for (const keys of [
            CARD,
            CARD + "/20",
            `HTTPS://SHOP.EXAMPLE:8080/S/${CARD}`,
            CARD.toLowerCase(),
          ]) {
            const got = replay({ keys, ms, jitter, end, wants });
            assert.deepEqual(
              got.map((d) => [d.kind, text(d)]),
              [["scan", keys]],
              `${keys} and ${end || "no end"}`,
            );
          }
        }
      });
    }
    test(`a code at ${ms} ms a key, jitter ${jitter}, with a lost key, presses nothing`, () => {
      for (let lost = 0; lost < CARD.length; lost++) {
        for (const end of ["Enter", ""]) {
          const keys = [...CARD].map((k, i) => (i === lost ? "" : k));
          const got = replay({ keys, ms, jitter, end, seed: lost + 3 });
          assert.ok(
            got.length > 0 && got.every((d) => HARMLESS.includes(d.kind)),
            `without key ${lost}: ${JSON.stringify(got)}`,
          );
          const pad = replay({ keys, ms, jitter, end, wants: "digits", seed: lost + 3 });
          assert.ok(
            pad.every((d) => HARMLESS.includes(d.kind)),
            `into a pad, without key ${lost}: ${JSON.stringify(pad)}`,
          );
        }
      }
    });
  }
}

test("two neighbours lost at the slowest rhythm press nothing either", () => {
  for (let lost = 0; lost + 1 < CARD.length; lost++) {
    const keys = [...CARD].map((k, i) => (i === lost || i === lost + 1 ? "" : k));
    for (const end of ["Enter", ""]) {
      const got = replay({ keys, ms: 150, end });
      assert.ok(
        got.every((d) => HARMLESS.includes(d.kind)),
        `${lost}: ${JSON.stringify(got)}`,
      );
    }
  }
});

test("works orders are read at any speed that ends with Enter", () => {
  for (const ms of RHYTHMS) {
    for (const keys of ["W-502", "50123", "AUF/2026-17 B"]) {
      assert.deepEqual(
        replay({ keys, ms, jitter: 0.2 }).map((d) => [d.kind, text(d)]),
        [["scan", keys]],
        `${keys} at ${ms}`,
      );
    }
  }
});

test("a works order of digits is no count: fast it is a scan, slow its Enter is lost", () => {
  assert.equal(replay({ keys: "50123", ms: 20, wants: "digits" })[0].kind, "scan");
  const slow = replay({ keys: "50123", ms: 150, wants: "digits" });
  assert.deepEqual(
    slow.map((d) => [d.kind, d.end]),
    [["typed", "Enter"]],
  );
  // Once the scanner's rhythm is known, it is a scan too.
  const known = newReader(undefined, { mean: 100, slowest: 115 });
  assert.equal(
    replay({ keys: "50123", ms: 100, jitter: 0.1, wants: "digits", reader: known })[0].kind,
    "scan",
  );
});

test("a digit by itself presses, after quiet and before quiet", () => {
  assert.deepEqual(
    replay({ keys: "3", ms: 100, end: "" }).map((d) => [d.kind, text(d)]),
    [["press", "3"]],
  );
  assert.deepEqual(
    replay({ keys: "31", ms: 300, end: "" }).map((d) => d.kind),
    ["loose"],
  );
  assert.deepEqual(
    replay({ keys: "3", ms: 100 }).map((d) => d.kind),
    ["loose"],
    "an Enter that follows at once",
  );
  assert.deepEqual(
    replay({ keys: "31", ms: 1000, end: "" }).map((d) => d.kind),
    ["press", "press"],
    "a second apart",
  );
});

test("an Enter by itself is a key; one that comes with a code is none", () => {
  const r = newReader();
  assert.equal(r.end("Enter", 5000, "press"), null);
  replay({ keys: CARD, ms: 150, reader: r });
  const two = newReader();
  const got = replay({ keys: [...CARD, "Enter"], ms: 150, reader: two });
  assert.deepEqual(
    got.map((d) => d.kind),
    ["scan", "loose"],
    "a scanner that ends with two keys",
  );
});

test("a person types a count, a works order and a note", () => {
  assert.deepEqual(
    replay({ keys: "48", ms: 180, end: "", wants: "digits" }).map((d) => [d.kind, text(d)]),
    [["typed", "48"]],
  );
  assert.deepEqual(
    replay({ keys: "s2", ms: 180, end: "", wants: "digits" }).map((d) => d.kind),
    ["typed"],
  );
  assert.deepEqual(
    replay({ keys: "W-5", ms: 200, end: "", wants: "text" }).map((d) => d.kind),
    ["typed"],
  );
  assert.deepEqual(
    replay({ keys: "the tool broke at piece 12", ms: 160, jitter: 0.4, wants: "field" }).map((d) => d.kind),
    ["typed"],
  );
});

test("a scanner without Enter is answered within 100 ms where its rhythm allows", () => {
  const r = newReader();
  [...CARD].forEach((k, i) => r.key(k, 1000 + 20 * i));
  assert.ok(r.due() - (1000 + 20 * 8) <= 100);
});

test("one that sends no Enter, as the test card showed, reads works orders too", () => {
  const r = newReader(undefined, learnRhythm(null, { gaps: [20, 22, 19, 20, 21], end: "" }, true));
  assert.deepEqual(
    replay({ keys: "W-502", ms: 20, end: "", reader: r }).map((d) => d.kind),
    ["scan"],
  );
});

test("a scanner slower than any other is learnt from the test card", () => {
  const r = newReader();
  r.setLearning(true);
  const card = "TALLYWALK KEYS 0123456789";
  const [read] = replay({ keys: card, ms: 300, jitter: 0.3, reader: r });
  assert.equal(text(read), card);
  r.setLearning(false);
  r.setRhythm(learnRhythm(null, read, true));
  const keys = [...CARD].map((k, i) => (i === 4 ? "" : k));
  assert.ok(
    replay({ keys, ms: 300, jitter: 0.2, end: "", reader: r, from: 100000 }).every((d) =>
      HARMLESS.includes(d.kind),
    ),
  );
  assert.equal(replay({ keys: CARD, ms: 300, jitter: 0.3, reader: r, from: 200000 })[0].kind, "scan");
});

test("the rhythm follows what is read: slower at once, faster little by little", () => {
  const gaps = (ms) => ({ gaps: [ms, ms, ms, ms], end: "Enter" });
  let known = learnRhythm(null, gaps(20));
  known = learnRhythm(known, gaps(100));
  assert.equal(known.slowest, 100);
  known = learnRhythm(known, gaps(20));
  assert.equal(known.slowest, 90);
});

test("the codes of an action sheet are read as slowly", () => {
  for (const code of Object.keys(CODES)) {
    assert.deepEqual(
      replay({ keys: code, ms: 150, jitter: 0.3 }).map((d) => [d.kind, text(d)]),
      [["scan", code]],
    );
  }
});

// Muddle 26: ten characters in a second, a key lost, while another card is open.
test("a Bluetooth scanner over an open card", () => {
  for (const wants of ["press", "digits"]) {
    assert.equal(replay({ keys: CARD, ms: 100, jitter: 0.3, wants })[0].kind, "scan");
    const lost = replay({ keys: CARD.slice(0, 5) + CARD.slice(6), ms: 100, jitter: 0.3, wants });
    assert.ok(
      lost.every((d) => HARMLESS.includes(d.kind)),
      JSON.stringify(lost),
    );
  }
});

test("what is left of a broken code presses nothing, however late it comes", () => {
  const keys = [...CARD].map((k, i) => (i >= 5 && i <= 7 ? "" : k));
  for (const wants of ["press", "digits"]) {
    const got = replay({ keys, ms: 150, end: "", wants });
    assert.deepEqual(
      got.map((d) => d.kind),
      ["broken", "loose"],
      `into ${wants}`,
    );
  }
});

test("a digit straight after a code is none by itself", () => {
  for (const wants of ["press", "digits"]) {
    const got = replay({ keys: [...CARD, "Enter", "5"], ms: 150, end: "", wants });
    assert.deepEqual(
      got.map((d) => d.kind),
      ["scan", "loose"],
      `into ${wants}`,
    );
  }
});
