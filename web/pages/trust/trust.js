// How a device comes to trust this server. The page is read over plain HTTP by devices
// that do not trust it yet, so it needs no sign-in; whether the device trusts the server
// is found out by asking it over HTTPS.
import { html, signal, useEffect } from "../../lib/vendor/ui.js";
import { get, safeNext } from "../../lib/api.js";
import { start } from "../../lib/shell.js";
import { full } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { keptHere } from "./kept.js";
import { clockFault, httpsOf, platformOf } from "./device.js";
import { Picture } from "./pictures.js";
import { PLATFORMS, stepsOf } from "./steps.js";

const AGAIN_MS = 3000;

/** What the server says of itself; null until it did. */
const server = signal(/** @type {import("../../lib/_types.js").Schema["Trust"] | null} */ (null));
/** Whether the device trusts it: null until that is known. */
const trusts = signal(/** @type {boolean | null} */ (null));
/** Scans that a station page keeps for this address and has not sent. */
const kept = signal(0);
const failed = signal("");

const next = new URLSearchParams(location.search).get("next");

async function look() {
  let s;
  try {
    s = await get("/trust/state", { stay: true });
    server.value = s;
    failed.value = "";
  } catch (err) {
    failed.value = /** @type {Error} */ (err).message;
    return;
  }
  if (s.mode === "off") return;
  trusts.value = s.encrypted || (await answersOverTLS());
  kept.value = s.encrypted ? 0 : await keptHere();
  if (trusts.value && next && !kept.value) location.replace(httpsOf(location) + pathOf(next));
}

async function answersOverTLS() {
  try {
    const answer = await fetch(httpsOf(location) + "/trust/state", { cache: "no-store" });
    return answer.ok;
  } catch {
    return false; // the browser does not say why: the name, the date, or that it does not trust us
  }
}

/** @param {string | null} text */
const pathOf = (text) => safeNext(text).slice(location.origin.length);

// The one thing that holds now, worst first.
function standing() {
  const s = server.value;
  if (failed.value) return "down";
  if (!s) return "looking";
  if (s.mode === "off") return "off";
  if (s.encrypted) return "encrypted";
  if (trusts.value && kept.value) return "kept";
  if (trusts.value) return "trusted";
  if (trusts.value === null) return "looking";
  if (clockFault(Date.now(), s)) return "date";
  return s.mode === "files" ? "files" : "not-yet";
}

const GOOD = ["encrypted", "trusted"];
const BAD = ["down", "date", "kept", "not-yet", "files"];

function Standing() {
  const now = standing();
  const s = server.value;
  /** @type {Record<string, string[]>} */
  const args = {
    down: [failed.value],
    date: s ? [full(Date.now()), full(Date.parse(s.now))] : [],
    kept: [count("trust.scans", kept.value)],
  };
  const look = GOOD.includes(now) ? "good" : BAD.includes(now) ? "bad" : "";
  return html`<div class=${"standing " + look} role="status" data-test="standing" data-state=${now}>
    ${now === "date" && html`<${Picture} kind="date" />`}
    <div>
      <p><b>${say("trust.is." + now)}</b></p>
      <p>${say(`trust.is.${now}.why`, ...(args[now] || []))}</p>
      ${now === "kept" && html`<a class="button" href="/station">${say("trust.send")}</a>`}
      ${now === "trusted" &&
      html`<a class="button act" data-test="over" href=${httpsOf(location) + pathOf(next)}>
        ${say("trust.go")}
      </a>`}
    </div>
  </div>`;
}

/** @param {{fingerprint: string}} props */
function Authority({ fingerprint }) {
  const groups = fingerprint.split(" ");
  return html`<section>
    <h2>${say("trust.get")}</h2>
    <p>${say("trust.compare")}</p>
    <p class="fingerprint" data-test="fingerprint">
      ${[0, 4, 8, 12].map((from) => html`<span>${groups.slice(from, from + 4).join(" ")}</span> `)}
    </p>
    <p>
      <a class="button act" data-test="certificate" href="/trust/tallywalk.crt">${say("trust.download")}</a>
    </p>
    <p class="soft">${say("trust.only")}</p>
  </section>`;
}

/** @param {{name: string, own: boolean, called?: string}} props */
function Platform({ name, own, called }) {
  return html`<details data-test=${"how-" + name} open=${own}>
    <summary><h2>${say("trust.on." + name)}</h2></summary>
    <ol class="steps">
      ${stepsOf(name).map(
        (step, i) => html`<li key=${i}>
          <${Picture} kind=${step.kind} rows=${step.rows} at=${step.at} called=${called} />
          <p>${say(step.text, called)}</p>
        </li>`,
      )}
    </ol>
  </details>`;
}

function Trust() {
  useEffect(() => {
    look();
    const t = setInterval(() => document.hidden || look(), AGAIN_MS);
    return () => clearInterval(t);
  }, []);
  const own = platformOf(navigator.userAgent, navigator.maxTouchPoints);
  const names = [...PLATFORMS].sort((a, b) => Number(b === own) - Number(a === own));
  return html`
    <h1>${say("trust.title")}</h1>
    <p>${say("trust.what")}</p>
    <${Standing} />
    ${server.value?.mode === "local" &&
    html`
      <${Authority} fingerprint=${server.value.fingerprint || ""} />
      ${names.map(
        (name) =>
          html`<${Platform} key=${name} name=${name} own=${name === own} called=${server.value?.called} />`,
      )}
    `}
  `;
}

start(Trust, { anyone: true });
