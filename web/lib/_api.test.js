import assert from "node:assert/strict";
import test from "node:test";
import { english } from "./_english.js";
import { asksAs, get, post, Problem, uuid7 } from "./api.js";

english("shared");
asksAs({ stay: true });

/** Answers the next request. */
function answers(status, body) {
  const asked = [];
  globalThis.fetch = async (path, init) => {
    asked.push([path, init.method, init.body]);
    if (status === 0) throw new TypeError("nothing answers");
    return /** @type {any} */ ({ ok: status < 300, status, text: async () => body });
  };
  return asked;
}

test("JSON goes out and comes in; no body is null", async () => {
  const asked = answers(200, '{"n": 1}');
  assert.deepEqual(await post("/x", { a: 2 }), { n: 1 });
  assert.deepEqual(asked, [["/x", "POST", '{"a":2}']]);
  answers(204, "");
  assert.equal(await get("/x"), null);
});

test("a problem has the server's sentence and field, and whether it passes", async () => {
  for (const [status, body, message, passing] of [
    [400, '{"detail": "Too many.", "field": "good"}', "Too many.", false],
    [503, '{"title": "Unavailable"}', "Unavailable", true],
    [401, '{"detail": "Sign in."}', "Sign in.", false],
    [502, "<html>", "The server answered with 502 and no reason.", true],
    [200, "<html>", "The server does not answer.", true],
    [0, "", "The server does not answer.", true],
  ]) {
    answers(status, body);
    const err = await get("/x").catch((e) => e);
    assert.ok(err instanceof Problem && err.message.startsWith(message), err.message);
    assert.equal(err.passing, passing, String(status));
    assert.equal(err.field, status === 400 ? "good" : "");
  }
});

// RFC 9562, 5.7: 48 bits of time, version 7, variant 10.
test("an id begins with its time", () => {
  const id = uuid7(0x0123456789ab);
  assert.match(id, /^01234567-89ab-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.notEqual(uuid7(1), uuid7(1));
});
