import assert from "node:assert/strict";
import { test } from "node:test";
import { english } from "./_english.js";
import { Problem } from "./api.js";
import { once } from "./once.js";

english("shared");
const card = { printer: "p", cards: ["W-501"], size: "A5" };

test("a thing that is on its way is not sent a second time", async () => {
  const sent = [];
  let answer = /** @type {(v: string) => void} */ (() => {});
  const send = (id) => {
    sent.push(id);
    return new Promise((done) => (answer = done));
  };
  const both = [
    once(card, send),
    once({ ...card }, send),
    once({ ...card, size: "A4" }, async () => "other"),
  ];
  answer("done");
  assert.deepEqual(await Promise.all(both), ["done", "done", "other"]);
  assert.equal(sent.length, 1);
});

test("its id stays until the server has answered", async () => {
  const sent = [];
  const as = (problem) => (id) => {
    sent.push(id);
    return problem ? Promise.reject(problem) : Promise.resolve("done");
  };
  await assert.rejects(once(card, as(new Problem(0))));
  await assert.rejects(once(card, as(new Problem(503))));
  assert.equal(await once(card, as(null)), "done");
  assert.deepEqual(new Set(sent).size, 1);
  await assert.rejects(once(card, as(new Problem(422))));
  await once(card, as(null));
  assert.equal(new Set(sent).size, 3, "each after an answer is another");
});
