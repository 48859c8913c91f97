// Which server a device asks, of several that keep one record: without a browser and without
// a clock, so that a test can play every case.

/**
 * Other is a server that is not the page's own: where it answers, and what people call it.
 * @typedef {{name: string, base: string}} Other
 */

/** How much longer the server that is asked now has than the others, in ms. */
export const HEAD_MS = 700;
/** How long the page's own server must answer before it is asked again, in ms. */
export const REST_MS = 30000;
const LONGEST_REST_MS = 10 * 60000;
const FLAPS_MS = 10 * 60000; // a server that was left so often within this time is no steady one

/**
 * others are the servers of a record beside the one that the page came from. A page that came
 * over TLS is let ask over TLS only, and one that did not is known over plain HTTP only.
 * @param {{name: string, url: string}[]} servers
 * @param {string} own the origin of the page
 * @returns {{home: string, list: Other[]}}
 */
export function others(servers, own) {
  const page = new URL(own);
  let home = page.host;
  /** @type {Other[]} */
  const list = [];
  for (const { name, url } of servers) {
    const at = twin(url, page.protocol);
    if (!at) continue;
    if (hostOf(at) === hostOf(page)) home = name;
    else if (!list.some((o) => o.base === at.origin)) list.push({ name, base: at.origin });
  }
  return { home, list };
}

/**
 * A server answers over TLS and without it at one port.
 * @param {string} url
 * @param {string} protocol
 */
function twin(url, protocol) {
  try {
    const u = new URL(url);
    return u.protocol === protocol ? u : new URL(`${protocol}//${hostOf(u)}`);
  } catch {
    return null; // no address
  }
}

/** @param {URL} u */
const hostOf = (u) => `${u.hostname}:${u.port || (u.protocol === "https:" ? 443 : 80)}`;

/**
 * firstFit asks all servers at once and gives the answer of one that is fit: of the one that
 * is asked now, where it is not much later than the first of the others; null where none is.
 * @template T
 * @param {string} at the base of the one that is asked now
 * @param {string[]} rest the bases of the others
 * @param {(base: string) => Promise<T | null>} ask gives null where a server is not fit
 * @param {(ms: number) => Promise<void>} wait
 * @returns {Promise<T | null>}
 */
export async function firstFit(at, rest, ask, wait) {
  const mine = ask(at);
  const next = first(rest.map(ask));
  const late = next.then((n) => (n ? wait(HEAD_MS).then(() => null) : mine));
  return (await Promise.race([mine, late])) || (await next) || mine;
}

/**
 * @template T
 * @param {Promise<T | null>[]} answers
 * @returns {Promise<T | null>}
 */
function first(answers) {
  return new Promise((done) => {
    let left = answers.length;
    if (!left) done(null);
    for (const a of answers) a.then((x) => (x ? done(x) : --left || done(null)));
  });
}

/**
 * Course is how it went with the page's own server: when it was left, and since when it has
 * been fit again (ms of a steady clock; 0 = it is not).
 * @typedef {{left: number[], well: number}} Course
 */

/** @returns {Course} */
export const begun = () => ({ left: [], well: 0 });

/**
 * wasLeft is the course after the page's own server was left.
 * @param {Course} c
 * @param {number} now
 * @returns {Course}
 */
export const wasLeft = (c, now) => ({ left: [...c.left.filter((t) => now - t < FLAPS_MS), now], well: 0 });

/**
 * wasAsked is the course after the page's own server was asked while another one is.
 * @param {Course} c
 * @param {boolean} fit
 * @param {number} now
 * @returns {Course}
 */
export const wasAsked = (c, fit, now) => ({ ...c, well: fit ? c.well || now : 0 });

/**
 * mayReturn reports whether the page's own server has been fit for so long that it is asked
 * again: twice as long for each time that it was left of late.
 * @param {Course} c
 * @param {number} now
 */
export function mayReturn(c, now) {
  const times = c.left.filter((t) => now - t < FLAPS_MS).length;
  const rest = Math.min(LONGEST_REST_MS, REST_MS * 2 ** Math.max(0, times - 1));
  return c.well > 0 && now - c.well >= rest;
}
