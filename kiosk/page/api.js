// Asks the server. What comes back is the answer's JSON; what fails is a Trouble
// that says whether the server answered at all.

export class Trouble extends Error {
  /** @param {number} status 0 when nothing answered */
  constructor(status, detail) {
    super(detail || String(status));
    this.status = status;
    this.detail = detail || '';
  }

  /** Nothing answered, or it can be expected to answer later. */
  get passing() {
    return this.status === 0 || this.status >= 500 || this.status === 429 || this.status === 408;
  }
}

const TIMEOUT_MS = 10000;

async function ask(method, path, body) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), TIMEOUT_MS);
  try {
    const answer = await fetch(path, {
      method,
      signal: stop.signal,
      headers: body ? { 'Content-Type': 'application/json' } : {},
      body: body ? JSON.stringify(body) : undefined,
    });
    const text = await answer.text();
    let data = {};
    try {
      data = text ? JSON.parse(text) : {};
    } catch {
      // Something in between answered, not our server.
      throw new Trouble(answer.ok ? 0 : answer.status, '');
    }
    if (!answer.ok) throw new Trouble(answer.status, data.detail || data.title);
    return data;
  } catch (e) {
    if (e instanceof Trouble) throw e;
    throw new Trouble(0, '');
  } finally {
    clearTimeout(timer);
  }
}

export const get = (path) => ask('GET', path);
export const post = (path, body) => ask('POST', path, body);
