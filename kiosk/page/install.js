// Keeps the page itself in the device, where the browser lets it: over HTTPS, or from
// this computer (worker.js). A new version takes over when nobody is in the middle of
// something.
import { answer, asked, over } from "./state.js";
import { renewPage } from "../../web/lib/servers.js";

const LOOK_MS = 2000;
const UPDATE_MS = 5 * 60000;
const REST_MS = 5000; // since someone last touched the page

/** Whether this browser can keep the page. */
export const canKeep = () => !!navigator.serviceWorker;

let touched = 0;
let changed = false;

/** Nobody counts, reads or is about to press. */
const isIdle = () => !asked.value && !over.value && !answer.value && performance.now() - touched > REST_MS;

/** Keeps the page in the device, and takes on new versions. */
export async function install() {
  for (const type of ["pointerdown", "keydown"])
    document.addEventListener(type, () => (touched = performance.now()), { capture: true, passive: true });
  const own = canKeep() && (await registered());
  if (!own) return void setInterval(() => isIdle() && renewPage(), LOOK_MS);
  setInterval(() => {
    if (!isIdle()) return;
    if (changed) location.reload();
    else own.waiting?.postMessage("take");
  }, LOOK_MS);
  setInterval(() => own.update().catch(() => {}), UPDATE_MS);
}

/** @returns {Promise<ServiceWorkerRegistration | null>} */
async function registered() {
  const workers = navigator.serviceWorker;
  let before = workers.controller; // none at the first visit
  workers.addEventListener("controllerchange", () => {
    changed ||= !!before;
    before = workers.controller;
  });
  try {
    return await workers.register("/station-sw.js", { scope: "/station", updateViaCache: "none" });
  } catch {
    return null; // no server, no room, or a certificate that is not trusted: the page works without
  }
}

/** Keeps the newest page now: in another language it is another one. */
export async function renew() {
  const own = await navigator.serviceWorker?.getRegistration("/station");
  await own?.update().catch(() => {});
  const next = own?.installing || own?.waiting;
  if (!next) return;
  await stateOf(next, ["installed", "activated", "redundant"]);
  next.postMessage("take");
  await stateOf(next, ["activated", "redundant"]);
}

/**
 * Waits until a worker is in one of some states.
 * @param {ServiceWorker} worker
 * @param {string[]} states
 * @returns {Promise<void>}
 */
function stateOf(worker, states) {
  return new Promise((done) => {
    const look = () => states.includes(worker.state) && done();
    worker.addEventListener("statechange", look);
    look();
  });
}
