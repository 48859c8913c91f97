// The servers that keep one record, as a station or a wall screen knows them: it asks the one
// that its page came from, and changes over by itself to another one while that is not fit.
// What they are is kept in this device, for the time when none can say it.
import { signal } from "./vendor/ui.js";
import { askedNow, asksAs, get, post } from "./api.js";
import { begun, firstFit, mayReturn, others, wasAsked, wasLeft } from "./changeover.js";
import { clockOf, setClock } from "./clock.js";

const KEPT = "tallywalk.servers";
const PATIENCE_MS = 2000; // for a server to say that it is fit
const HOMEWARD_MS = 5000; // how often the page's own server is asked while another one is

/**
 * @typedef {import("./changeover.js").Other} Other
 * @typedef {import("./_types.js").Me} Me
 * @typedef {{base: string, me: Me, asked: number, answered: number}} Fit
 */

/** @type {{home: string, list: Other[], pass: string, at: string}} */
let kept = { home: "", list: [], pass: "", at: "" };
let course = begun();
/** @type {() => void} */
let changed = () => {};
let isFree = () => true;
/** @type {Promise<boolean> | null} */
let looking = null;
let passed = ""; // for whom the pass was asked for since the page was loaded

/** The server that is asked instead of the page's own: {own, other}, their names; null while it is not. */
export const away = signal(/** @type {{own: string, other: string} | null} */ (null));

// Whether the page was loaded before a server joined: the policy of content of then does not
// let it ask that one.
let isOutdated = false;
/** @type {Set<string>} */
const tried = new Set();

/** Whether there is another server to ask. */
export const hasOthers = () => kept.list.length > 0;

/** What a socket offers at another server, which gets no header from a page: the pass. */
export const passProtocols = () => (askedNow() && kept.pass ? ["tallywalk", "pass." + kept.pass] : []);

/**
 * useServers begins with what was kept; onChange is called after another server is asked, and
 * free says whether nothing is under way that would be torn.
 * @param {{onChange: () => void, free?: () => boolean}} use
 */
export function useServers({ onChange, free = () => true }) {
  changed = onChange;
  isFree = free;
  kept = { ...kept, ...JSON.parse(localStorage.getItem(KEPT) || "{}") };
  const at = kept.list.find((o) => o.base === kept.at);
  if (at) settle(at.base);
  setInterval(homeward, HOMEWARD_MS);
  document.addEventListener("securitypolicyviolation", (e) => {
    isOutdated ||= kept.list.some((o) => e.blockedURI.startsWith(o.base));
  });
}

/**
 * renewPage loads the page again where a server joined since it was loaded, while its own
 * server is fit, and once for each list of servers.
 */
export async function renewPage() {
  const list = JSON.stringify(kept.list);
  if (!isOutdated || askedNow() || sessionStorage.getItem(KEPT) === list || !(await ask(""))) return;
  sessionStorage.setItem(KEPT, list);
  location.reload();
}

function keep() {
  try {
    localStorage.setItem(KEPT, JSON.stringify(kept));
  } catch {
    // A browser that keeps nothing more knows them until the reload.
  }
}

/** @type {(base: string) => import("./api.js").Place} */
const placeOf = (base) => ({ base, headers: base && kept.pass ? { "X-Tallywalk-Device": kept.pass } : {} });

/** @param {string} base */
function settle(base) {
  asksAs({ at: placeOf(base) });
  clockOf(base);
  const other = kept.list.find((o) => o.base === base);
  away.value = other ? { own: kept.home, other: other.name } : null;
}

/**
 * learnServers takes what a server says of all of them.
 * @param {Me} me
 */
export async function learnServers(me) {
  const said = me.servers || [];
  if (!said.length && !hasOthers()) return; // one server keeps the record
  kept = { ...kept, ...others(said, location.origin) };
  if (!hasOthers()) kept.pass = "";
  if (askedNow() && !kept.list.some((o) => o.base === askedNow())) change("");
  keep();
  await learnPass(me);
  for (const { base } of kept.list) {
    if (!tried.has(base)) ask(base);
    tried.add(base);
  }
}

/** @param {Me} me */
async function learnPass(me) {
  const who = me.how + (me.device || "");
  if (passed === who || askedNow() || !hasOthers() || (me.how !== "station" && me.how !== "screen")) return;
  passed = who;
  try {
    kept.pass = (await post("/api/v1/crossing", {}, { at: { base: "" } })).pass;
    keep();
  } catch {
    passed = ""; // with the next answer
  }
}

/**
 * Asks whether a server takes what this device says, and as whom.
 * @param {string} base
 * @returns {Promise<Fit | null>}
 */
async function ask(base) {
  const options = { at: placeOf(base), patience: PATIENCE_MS, stay: true };
  const asked = performance.now();
  try {
    const [me] = await Promise.all([get("/api/v1/me", options), get("/readyz", options)]);
    return { base, me, asked, answered: performance.now() };
  } catch {
    return null;
  }
}

/** @type {(ms: number) => Promise<void>} */
const wait = (ms) => new Promise((done) => setTimeout(done, ms));

/**
 * lookAround looks for a server that is fit, and reports whether there is one; it is the one
 * that is asked from then on. Where one server keeps the record there is none to look for.
 */
export async function lookAround() {
  if (!hasOthers()) return false;
  looking ??= search().finally(() => (looking = null));
  return looking;
}

async function search() {
  const at = askedNow();
  const rest = ["", ...kept.list.map((o) => o.base)].filter((base) => base !== at);
  const fit = await firstFit(at, rest, ask, wait);
  if (fit && fit.base !== at) change(fit.base, fit);
  return !!fit;
}

/**
 * @param {string} base
 * @param {Fit} [fit]
 */
function change(base, fit) {
  if (!askedNow()) course = wasLeft(course, performance.now());
  settle(base);
  if (fit) setClock(fit.me.now, fit.asked, fit.answered);
  kept.at = base;
  keep();
  changed();
}

/** Looks whether the page's own server is fit again, and goes back when it has been for long. */
async function homeward() {
  if (!askedNow() || looking) return;
  const fit = await ask("");
  course = wasAsked(course, !!fit, performance.now());
  if (fit && askedNow() && !looking && isFree() && mayReturn(course, performance.now())) change("", fit);
}
