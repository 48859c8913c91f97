// Talking to the server: JSON in and out, problems as errors with a sentence.
import {say} from "/static/words.js";
import {setClock} from "/static/clock.js";

const patience = 15000; // ms

export class Problem extends Error {
  constructor(status, detail, field) {
    super(detail);
    this.status = status;
    this.field = field || "";
  }
}

// toSignIn leaves for the sign-in page, which comes back here.
export function toSignIn() {
  location.replace("/sign-in?next=" + encodeURIComponent(location.pathname + location.search));
}

// safeNext is where to go after signing in: a page of this site or the first one.
export function safeNext(text) {
  try {
    const u = new URL(text || "/", location.origin);
    if (u.origin === location.origin && (text || "/").startsWith("/")) return u.href;
  } catch { /* not an address */ }
  return location.origin + "/";
}

// call asks the server. A 401 leads to the sign-in page unless stay is set.
export async function call(method, path, body, {stay = false} = {}) {
  const init = {method, headers: {Accept: "application/json"}, credentials: "same-origin", signal: AbortSignal.timeout(patience)};
  if (body !== undefined) {
    init.headers["Content-Type"] = "application/json";
    init.body = JSON.stringify(body);
  }
  let answer;
  try {
    answer = await fetch(path, init);
  } catch {
    throw new Problem(0, say("net.down"));
  }
  if (answer.status === 401 && !stay) {
    toSignIn();
    return new Promise(() => {}); // the page goes
  }
  if (answer.status === 204) return null;
  const said = await answer.json().catch(() => null);
  if (!answer.ok) throw new Problem(answer.status, (said && said.detail) || say("net.odd", answer.status), said && said.field);
  return said;
}

export const get = (path, o) => call("GET", path, undefined, o);
export const post = (path, body, o) => call("POST", path, body, o);
export const del = (path) => call("DELETE", path);

// syncClock measures the server's clock.
export async function syncClock() {
  const asked = performance.now();
  const c = await get("/api/v1/clock", {stay: true});
  setClock(c.now, asked, performance.now());
  return c;
}
