// An answer that is asked for again and again while someone looks.
import { useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { number } from "../../lib/numbers.js";
import { say } from "../../lib/words.js";

const AGAIN_MS = 15000;

/**
 * useWatched gives {value, problem, again}; again asks at once.
 * @template {string} P
 * @param {P} path
 */
export function useWatched(path) {
  const value = useSignal(/** @type {import("../../lib/_types.js").Answer<P, "get"> | null} */ (null)),
    problem = useSignal("");
  const again = async () => {
    try {
      value.value = await get(path);
      problem.value = "";
    } catch (err) {
      problem.value = err instanceof Error ? err.message : String(err);
    }
  };
  useEffect(() => {
    again();
    const timer = setInterval(() => !document.hidden && again(), AGAIN_MS);
    return () => clearInterval(timer);
  }, []);
  return { value: value.value, problem: problem.value, again };
}

/**
 * The size of a file, in units of a thousand.
 * @param {number} bytes
 */
export const size = (bytes) =>
  bytes < 1e6
    ? say("health.kb", number(bytes / 1e3))
    : bytes < 1e10
      ? say("health.mb", number(bytes / 1e6))
      : say("health.gb", number(bytes / 1e9));
