// Answers that are asked for again while a page is open, and scenarios that take a
// while to work out.
import { useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get, post } from "../../lib/api.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Forecast"]} Forecast
 * @typedef {Schema["ForecastBatch"]} ForecastBatch
 * @typedef {Schema["Hits"]} Hits
 */

const SOON_MS = 5000; // while the first forecast is worked out
const LATER_MS = 60000;

/**
 * useFresh asks for a path now and every minute, sooner while there is no forecast yet.
 * What was there stays on the page when a later look fails.
 * @template {string} P
 * @param {P} path
 * @param {number} [later] ms
 */
export function useFresh(path, later = LATER_MS) {
  const value = useSignal(/** @type {import("../../lib/_types.js").Answer<P, "get"> | null} */ (null)),
    problem = useSignal(""),
    again = useSignal(0);
  useEffect(() => {
    let mine = true;
    const look = async () => {
      try {
        const v = await get(path);
        if (!mine) return;
        value.value = v;
        problem.value = "";
      } catch (err) {
        if (mine) problem.value = /** @type {Error} */ (err).message;
      }
      const state = /** @type {{state?: string} | null} */ (value.value)?.state;
      if (mine) timer = setTimeout(look, state === "working" ? SOON_MS : later);
    };
    let timer = setTimeout(look, 0);
    return () => {
      mine = false;
      clearTimeout(timer);
    };
  }, [path, again.value]);
  return { value: value.value, problem: problem.value, again: () => again.value++ };
}

const LOOK_MS = 300; // between two looks at how far a scenario is

/**
 * useScenario posts what is asked, whenever that changes, and gives what came of it:
 * {value, of, problem, share}; share is how far it is, null when nothing is at work. The
 * answer before stays until the next is there. Nothing is asked for null.
 * @template {string} P
 * @template B
 * @param {P} path
 * @param {B | null} body
 */
export function useScenario(path, body) {
  const value = useSignal(/** @type {import("../../lib/_types.js").Answer<P, "post"> | null} */ (null)),
    of = useSignal(/** @type {B | null} */ (null)),
    problem = useSignal(""),
    share = useSignal(/** @type {number | null} */ (null)),
    tries = useSignal(0);
  const sent = body ? JSON.stringify(body) : "";
  useEffect(() => {
    problem.value = "";
    if (!sent) {
      value.value = null;
      share.value = null;
      return undefined;
    }
    const until = new AbortController();
    share.value = 0;
    const looks = setInterval(async () => {
      const p = await get("/api/v1/what-if", { until: until.signal }).catch(() => null);
      if (p?.busy && share.value !== null) share.value = p.share;
    }, LOOK_MS);
    const end = () => {
      clearInterval(looks);
      if (!until.signal.aborted) share.value = null;
    };
    post(path, body, { until: until.signal, patience: 30000 })
      .then((v) => {
        if (until.signal.aborted) return;
        value.value = v;
        of.value = body;
      })
      .catch((err) => {
        if (!until.signal.aborted) problem.value = err.message;
      })
      .finally(end);
    return () => {
      until.abort();
      clearInterval(looks);
    };
  }, [path, sent, tries.value]);
  return {
    value: value.value,
    of: of.value,
    old: JSON.stringify(of.value) !== sent,
    problem: problem.value,
    share: share.value,
    again: () => tries.value++,
  };
}
