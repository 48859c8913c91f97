// The service worker of the station page, and of a board on a wall screen, served at a fixed
// address that is never cached (/station-sw.js), after a line that names GRAPH: the page's
// version, its tag and all that it loads. It keeps that one version whole, so that the page
// comes up while nothing answers, and the one before for pages that are still open. It
// answers for that page and its files only.

const sw = /** @type {import("./_types.js").WorkerScope} */ (/** @type {unknown} */ (globalThis));
const { GRAPH } = sw;
const PAGE = new URL(GRAPH.page, location.origin);
const PREFIX = PAGE.pathname.slice(1) + "-";
const isWall = PAGE.searchParams.has("wall"); // people look at that board, too
const NAME = PREFIX + GRAPH.tag.replace(/\W/g, "");
const KEPT = 2; // versions
const PATIENCE_MS = 3000;

// One version whole or none: a page of another version means that the program was
// replaced meanwhile; the browser then finds the next worker.
async function keep() {
  if (GRAPH.live) return;
  const cache = await caches.open(NAME);
  const page = await fetch(GRAPH.page, { cache: "no-store" });
  if (!page.ok || page.headers.get("ETag") !== GRAPH.tag) {
    await caches.delete(NAME);
    throw new Error("the station page is of another version by now");
  }
  await cache.put(GRAPH.page, page);
  await cache.addAll(GRAPH.files);
}

async function forget() {
  const names = (await caches.keys()).filter((n) => n.startsWith(PREFIX));
  const old = names.filter((n) => n !== NAME).slice(0, 1 - KEPT);
  await Promise.all(old.map((n) => caches.delete(n)));
  await sw.clients.claim();
}

/**
 * The page as it is kept. One that names a language was asked for because another was
 * chosen just now: that is not the one that is kept yet.
 * @param {Request} request
 * @param {boolean} chosen
 */
async function page(request, chosen) {
  const kept = async () => (await caches.open(NAME)).match(GRAPH.page);
  if (chosen) return fetch(request).catch(async (err) => (await kept()) || Promise.reject(err));
  return (await kept()) || fetch(request);
}

/**
 * A board of a wall as its server has it, while that answers: nobody stands there to wait for
 * the next version.
 * @param {Request} request
 */
async function board(request) {
  const stop = new AbortController();
  const slow = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    return await fetch(request, { signal: stop.signal });
  } catch (err) {
    return (await (await caches.open(NAME)).match(GRAPH.page)) || Promise.reject(err);
  } finally {
    clearTimeout(slow);
  }
}

/**
 * A file's address names its version: what was kept once is right for good.
 * @param {Request} request
 * @param {string} path
 */
async function file(request, path) {
  const found = await caches.match(path);
  if (found) return found;
  const answer = await fetch(request);
  if (answer.ok && !answer.redirected && path.startsWith(`/static/${GRAPH.version}/`))
    await (await caches.open(NAME)).put(path, answer.clone());
  return answer;
}

sw.addEventListener("install", (e) => e.waitUntil(keep()));
sw.addEventListener("activate", (e) => e.waitUntil(forget()));
// The page says when: not while a count is open.
sw.addEventListener("message", (e) => e.data === "take" && sw.skipWaiting());
sw.addEventListener("fetch", (e) => {
  const { origin, pathname, searchParams } = new URL(e.request.url);
  if (GRAPH.live || e.request.method !== "GET" || origin !== location.origin) return;
  if (e.request.mode === "navigate" && pathname === PAGE.pathname) {
    if (!isWall) e.respondWith(page(e.request, searchParams.has("language")));
    else if (searchParams.get("wall") === "1") e.respondWith(board(e.request));
  } else if (pathname.startsWith("/static/")) e.respondWith(file(e.request, pathname));
});
