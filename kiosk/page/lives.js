// A browser may clear what a device keeps: a new life begins, and what was not sent
// is gone. A cookie outlives that, and says how much it was.
import { html, signal } from "../../web/lib/vendor/ui.js";
import { keeps, value } from "./box.js";
import { moment } from "../../web/lib/times.js";
import { count, say } from "../../web/lib/words.js";

/** What a life before this one lost: how many scans, the first one of when; null for nothing. */
const lost = signal(/** @type {{waiting: number, since: number} | null} */ (null));

// A browser shows a cookie at every port of a host, over HTTP and HTTPS alike, but keeps
// a box for each of them: a name for each, else a tablet that changes to HTTPS would be
// shown as cleared.
const { protocol, port } = globalThis.location || { protocol: "", port: "" };
const NAME = `tallywalk_box_${protocol === "https:" ? "s" : ""}${port}`;
const LASTS_S = 400 * 86400;
let life = "";

/** @returns {{life: string, waiting: number, since: number} | null} */
function marker() {
  const all = (globalThis.document?.cookie || "").split("; ");
  const text = all.find((c) => c.startsWith(NAME + "="))?.slice(NAME.length + 1);
  const [id, waiting, since] = (text || "").split(".");
  return id ? { life: id, waiting: Number(waiting), since: Number(since) } : null;
}

/** Compares this life with the one before. */
export async function wasCleared() {
  if (!keeps()) return;
  life = await value("life", () => Math.random().toString(36).slice(2, 10));
  const before = marker();
  if (before && before.life !== life) lost.value = { waiting: before.waiting, since: before.since };
  noteBox(0, 0);
}

let now = { waiting: 0, since: 0 }; // of this life

/**
 * Notes how much this life has not sent.
 * @param {number} waiting
 * @param {number} since when the first of it was said, in ms
 */
export function noteBox(waiting, since) {
  now = { waiting, since: Math.round(since) };
  if (!life || lost.value) return; // until someone has read what was lost
  const secure = location.protocol === "https:" ? "; Secure" : "";
  const text = `${life}.${now.waiting}.${now.since}`;
  document.cookie = `${NAME}=${text}; Path=/station; Max-Age=${LASTS_S}; SameSite=Strict${secure}`;
}

/** Says what was lost, until someone has read it. */
export function Lost() {
  if (!lost.value) return null;
  const { waiting, since } = lost.value;
  const read = () => {
    lost.value = null;
    noteBox(now.waiting, now.since);
  };
  return html`<div class="told refuse" data-test="lost" role="alert">
    <div>
      <h2>${say("lost.title")}</h2>
      <p>${waiting ? count("lost.some", waiting, moment(since)) : say("lost.none")}</p>
      <button class="key" data-test="lost-ok" onClick=${read}>${say("say.ok")}</button>
    </div>
  </div>`;
}
