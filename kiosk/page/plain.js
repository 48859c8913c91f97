// What a station says of itself over plain HTTP: what it lacks, and the way to HTTPS.
// Its box belongs to the address that it has now, so that way opens when the box is
// empty, and never by itself.
import { html, useEffect, useState } from "../../web/lib/vendor/ui.js";
import { get } from "../../web/lib/api.js";
import { later, link } from "./outbox.js";
import { count, say } from "../../web/lib/words.js";

const PAGE = "/trust?next=/station"; // makes sure that the device trusts the server first

export function Plain() {
  const [https, setHttps] = useState(false);
  const isPlain = location.protocol === "http:";
  useEffect(() => {
    if (!isPlain) return;
    get("/trust/state")
      .then((s) => setHttps(s.mode !== "off"))
      .catch(() => {}); // without the server there is nowhere to change to
  }, []);
  if (!isPlain || (isSecureContext && !https)) return null;
  const { waiting } = link.value;
  return html`<div class="plain" data-test="plain">
    ${!isSecureContext && html`<p>${say("plain.lacks")}</p>`}
    ${https && waiting > 0 && html`<p data-test="plain-waits">${count("plain.waits", waiting)}</p>`}
    ${https && !waiting && later.value.length > 0 && html`<p data-test="plain-read">${say("plain.read")}</p>`}
    ${https &&
    !waiting &&
    !later.value.length &&
    html`
      <p>${say("plain.change.why")}</p>
      <div class="keys">
        <a class="key step" data-test="plain-change" href=${PAGE}>${say("plain.change")}</a>
      </div>
    `}
  </div>`;
}
