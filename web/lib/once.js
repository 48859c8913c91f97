// Sending a thing once, though a button is pressed twice or an answer is lost.
import { Problem, uuid7 } from "./api.js";
import { now } from "./clock.js";

/** @type {Map<string, {id: string, way: Promise<unknown> | null}>} */
const unanswered = new Map();

/**
 * once sends a thing under an id. While it is on its way it is not sent a second time;
 * after an answer that was lost it goes out under the id that it had, by which the server
 * knows it; after an answer the same thing is another one.
 * @template T
 * @param {unknown} what that is sent
 * @param {(id: string) => Promise<T>} send
 * @returns {Promise<T>}
 */
export function once(what, send) {
  const key = JSON.stringify(what),
    it = unanswered.get(key) ?? { id: uuid7(now()), way: null };
  unanswered.set(key, it);
  it.way ??= send(it.id).then(
    (answer) => {
      unanswered.delete(key);
      return answer;
    },
    (err) => {
      it.way = null;
      if (err instanceof Problem && !err.passing) unanswered.delete(key);
      throw err;
    },
  );
  return /** @type {Promise<T>} */ (it.way);
}
