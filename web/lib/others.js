// Where the record is kept too, on the pages of people: when their server does not answer,
// the way to the others. A person signs in there, and decides whether to go.
import { html } from "./vendor/ui.js";
import { reached } from "./api.js";
import { say } from "./words.js";

const KEPT = "tallywalk.others";

/**
 * keepOthers keeps what a server says of all of them.
 * @param {import("./_types.js").Me} me
 */
export function keepOthers(me) {
  const list = (me.servers || []).filter((s) => !s.self && /^https?:/.test(s.url));
  if (list.length) localStorage.setItem(KEPT, JSON.stringify(list));
  else localStorage.removeItem(KEPT);
}

/** The other servers, while this one does not answer. */
export function Others() {
  /** @type {{name: string, url: string}[]} */
  const list = reached.value ? [] : JSON.parse(localStorage.getItem(KEPT) || "[]");
  if (!list.length) return null;
  const here = location.pathname + location.search;
  return html`<div class="doubt" role="alert" data-test="others">
    <p>${say("servers.others")}</p>
    ${list.map(
      (s) =>
        html`<a key=${s.name} href=${s.url + here}>${s.name} (${s.url.replace(/^https?:\/\//, "")})</a> `,
    )}
  </div>`;
}
