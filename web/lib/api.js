// Talking to the server: JSON in and out, problems as errors with a sentence.
import { signal } from "./vendor/ui.js";
import { measure, setClock } from "./clock.js";
import { language, say } from "./words.js";

// Problem is what the server answers instead (RFC 9457), or that it does not.
export class Problem extends Error {
  /**
   * @param {number} status of HTTP; 0 when nothing answered
   * @param {string} [detail] the server's sentence
   * @param {string} [field] of what was sent, that is wrong
   * @param {string} [base] of the server that was asked; empty for the page's own
   */
  constructor(status, detail = "", field = "", base = "") {
    super(detail || (status === 0 ? say("net.down") : say("net.odd", status)));
    this.status = status;
    this.detail = detail;
    this.field = field;
    this.base = base;
  }

  // passing: nothing answered, or it can be expected to answer later.
  get passing() {
    return this.status === 0 || this.status >= 500 || this.status === 429 || this.status === 408;
  }
}

/**
 * Place is a server that is asked: base is its origin, empty for the page's own, and headers
 * are what it is asked with.
 * @typedef {{base: string, headers?: Record<string, string>}} Place
 */

/** @type {Place} */
const own = { base: "" };

/**
 * Options of a request: with stay, a 401 is a Problem and not the way to sign in;
 * patience is in ms; at is the server that is asked.
 * @typedef {{stay?: boolean, patience?: number, until?: AbortSignal | null, at?: Place}} Options
 */

/** @type {Required<Options>} */
let usual = { stay: false, patience: 15000, until: null, at: own };

// reached is whether the server answered when it was asked last.
export const reached = signal(true);

/**
 * asksAs sets what holds for all requests of this page.
 * @param {Options} options
 */
export function asksAs(options) {
  usual = { ...usual, ...options };
}

// askedNow is the origin of the server that this page asks now; empty for its own.
export const askedNow = () => usual.at.base;

// toSignIn leaves for the sign-in page, which comes back here.
function toSignIn() {
  location.replace("/sign-in?next=" + encodeURIComponent(location.pathname + location.search));
}

/**
 * safeNext is where to go after signing in: a page of this site or the first one.
 * @param {string | null} text
 */
export function safeNext(text) {
  try {
    const u = new URL(text || "/", location.origin);
    if (u.origin === location.origin && (text || "/").startsWith("/")) return u.href;
  } catch {
    // not an address
  }
  return location.origin + "/";
}

/**
 * call asks the server and gives its JSON; null for an answer without any. It
 * throws a Problem.
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body]
 * @param {Options} [options]
 * @returns {Promise<unknown>}
 */
async function call(method, path, body, options) {
  const { stay, patience, until, at } = { ...usual, ...options };
  // Another server answers what devices ask for; all else is the page's own to answer.
  const { base, headers: more } = path.startsWith("/api/") || options?.at ? at : own;
  const stop = new AbortController();
  until?.addEventListener("abort", () => stop.abort());
  const timer = setTimeout(() => stop.abort(), patience);
  /** @type {Record<string, string>} */
  const headers = { Accept: "application/json", "Accept-Language": language, ...more };
  if (body !== undefined) headers["Content-Type"] = "application/json";
  let answer, text;
  try {
    answer = await fetch(base + path, {
      method,
      headers,
      signal: stop.signal,
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    text = await answer.text();
    reached.value = true;
  } catch {
    reached.value = until?.aborted ? reached.value : false;
    throw new Problem(0, "", "", base);
  } finally {
    clearTimeout(timer);
  }
  // Another server that does not know this device is to it as one that does not answer.
  if (answer.status === 401 && base) throw new Problem(0, "", "", base);
  if (answer.status === 401 && !stay) {
    toSignIn();
    return new Promise(() => {}); // the page goes
  }
  return said(answer, text, base);
}

/** @type {(answer: {ok: boolean, status: number}, text: string, base: string) => unknown} */
function said(answer, text, base) {
  let data = null;
  try {
    if (text) data = JSON.parse(text);
  } catch {
    // Something in between answered, not our server.
    throw new Problem(answer.ok ? 0 : answer.status, "", "", base);
  }
  if (!answer.ok) throw new Problem(answer.status, data?.detail || data?.title, data?.field, base);
  return data;
}

/**
 * @template {string} P
 * @param {P} path
 * @param {Options} [options]
 */
export const get = (path, options) =>
  /** @type {Promise<import("./_types.js").Answer<P, "get">>} */ (call("GET", path, undefined, options));
/**
 * @template {string} P
 * @param {P} path
 * @param {unknown} body
 * @param {Options} [options]
 */
export const post = (path, body, options) =>
  /** @type {Promise<import("./_types.js").Answer<P, "post">>} */ (call("POST", path, body, options));
/**
 * @template {string} P
 * @param {P} path
 * @param {unknown} body
 */
export const patch = (path, body) =>
  /** @type {Promise<import("./_types.js").Answer<P, "patch">>} */ (call("PATCH", path, body));
/** @type {(path: string) => Promise<unknown>} */
export const del = (path) => call("DELETE", path);

// The clock of the server that is asked: not of one that was asked when the question went.
async function askClock() {
  const base = askedNow();
  const clock = await get("/api/v1/clock", { stay: true });
  if (askedNow() !== base) throw new Problem(0, "", "", base);
  return clock;
}

// measureClock measures the server's clock well: several times.
export const measureClock = () => measure(askClock);

// syncClock measures it once, and gives what the server says of it.
export async function syncClock() {
  const asked = performance.now();
  const c = await askClock();
  setClock(c.now, asked, performance.now());
  return c;
}

// doubt is why the server's clock can't be believed; empty while it can.
export const doubt = signal("");

const DOUBT_EVERY_MS = 20000;

// watchDoubt measures the clock and keeps doubt up to date; it gives what ends it.
export function watchDoubt() {
  const look = async () => {
    try {
      doubt.value = (await syncClock()).doubt;
    } catch {
      // No answer: the link says so.
    }
  };
  look();
  const t = setInterval(look, DOUBT_EVERY_MS);
  return () => clearInterval(t);
}

/**
 * uuid7 is an id of a scan, a UUID of version 7 (RFC 9562): the time first, in
 * ms since 1970, then chance.
 * @param {number} ms
 */
export function uuid7(ms) {
  const b = crypto.getRandomValues(new Uint8Array(16));
  let t = Math.floor(ms);
  for (let i = 5; i >= 0; i--) {
    b[i] = t % 256;
    t = Math.floor(t / 256);
  }
  b[6] = (b[6] & 0x0f) | 0x70;
  b[8] = (b[8] & 0x3f) | 0x80;
  const hex = Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
