// What every page has: who is signed in, the bar at the top, the notes that
// answer what was done, and the clock in step with the server.
import { html, render, signal, useEffect } from "./vendor/ui.js";
import { doubt, get, post, watchDoubt } from "./api.js";
import { setClock, setPace, startClock } from "./clock.js";
import { Find } from "./find.js";
import { Working } from "./form.js";
import { LanguageChoice } from "./language.js";
import { keepOthers, Others } from "./others.js";
import { setZone } from "./times.js";
import { Unwell } from "./unwell.js";
import { say } from "./words.js";

const mark = new URL("./mark.svg", import.meta.url).href;

/**
 * @typedef {(props: {}) => unknown} Component
 * @typedef {{key: number, kind: string, text: string, action?: {label: string, run: () => void}}} Note
 */

export const me = signal(/** @type {import("./_types.js").Me | null} */ (null));
const notes = signal(/** @type {Note[]} */ ([]));

/** @param {string} deed */
export const may = (deed) => Boolean(me.value && me.value.may.some((d) => d === deed));

const noteStays = 30000; // ms a good note stays; what went wrong stays until it is closed
let noteCount = 0;

/**
 * note says what became of something; kind is good, bad or plain. An action
 * {label, run} is offered beside it.
 * @param {string} kind
 * @param {string} text
 * @param {Note["action"]} [action]
 */
export function note(kind, text, action) {
  const n = { key: ++noteCount, kind, text, action };
  notes.value = [...notes.value.filter((x) => x.kind === "bad").slice(-1), n];
  if (kind !== "bad") setTimeout(() => dropNote(n), noteStays);
  return n;
}

/** @param {Note} n */
const dropNote = (n) => {
  notes.value = notes.value.filter((x) => x.key !== n.key);
};

/**
 * failed shows an error to the person.
 * @param {unknown} err
 */
export const failed = (err) => note("bad", err instanceof Error ? err.message : String(err));

function theme() {
  const t = localStorage.getItem("tw.theme");
  if (t === "light" || t === "dark") document.documentElement.dataset.theme = t;
}

const places = [
  ["/morning", "nav.morning", "look"],
  ["/waits", "nav.waits", "look"],
  ["/ground", "nav.ground", "look"],
  ["/pace", "nav.pace", "look"],
  ["/ahead", "nav.ahead", "look"],
  ["/history", "nav.figures", "look"],
  ["/batches", "nav.batches", "look"],
  ["/questions", "nav.questions", "look"],
  ["/station", "nav.station", "scan"],
  ["/calendars", "nav.shop", "look"],
];

// What a server has that shows the records of several sites and has no shop of its own.
const ofSites = [
  ["/sites", "nav.sites", "look"],
  ["/accounts", "nav.accounts", "accounts"],
];

// Pages behind one entry of the bar have a bar of their own: [path, word, deed], the
// deed where not everybody who looks may.
const ofShop = [
  ["/calendars", "nav.calendars"],
  ["/lists", "nav.lists", "release"],
  ["/typed", "typed.title", "settle"],
  ["/printers", "nav.printers", "release"],
  ["/stations", "nav.stations", "enrol"],
  ["/accounts", "nav.accounts", "accounts"],
  ["/health", "nav.health", "enrol"],
  ["/keeping", "nav.keeping", "enrol"],
];
const figures = ["history", "week", "losses", "machines", "fits", "trace", "compare"].map((f) => [
  "/" + f,
  "nav." + f,
]);
const ahead = [
  ["/ahead", "nav.dates"],
  ["/promise", "nav.promise"],
  ["/what-if", "nav.what-if"],
  ["/next", "nav.next"],
];

async function signOut() {
  try {
    await post("/api/v1/sign-out", {});
    location.assign("/sign-in");
  } catch (err) {
    failed(err);
  }
}

function Who() {
  const who = me.value;
  if (!who || who.how === "open") return null; // the demo's line says so
  const text = say("who.in", who.name, say("role." + who.role));
  return html`<span class="who">
    <span data-test="who" title=${text}>${text}</span>
    ${who.how === "account" &&
    html`<button class="quiet" data-test="sign-out" onClick=${signOut}>${say("sign-out")}</button>`}
  </span>`;
}

const QUESTIONS_MS = 60000; // how often the number of open questions is asked for again
const asks = signal(0);

// Not asked by a wall screen, which may not.
async function countQuestions() {
  if (document.hidden || !may("look") || me.value?.sites || me.value?.how === "screen") return;
  try {
    asks.value = (await get("/api/v1/questions/open")).open;
  } catch {
    // the number stays as it was; the page itself says when the server is away
  }
}

function Bar() {
  useEffect(() => {
    countQuestions();
    const again = setInterval(countQuestions, QUESTIONS_MS);
    document.addEventListener("visibilitychange", countQuestions);
    return () => {
      clearInterval(again);
      document.removeEventListener("visibilitychange", countQuestions);
    };
  }, []);
  const here = location.pathname,
    under = (/** @type {string} */ path) => here === path || here.startsWith(path + "/");
  const [label, within] =
    under("/check") || figures.some(([p]) => under(p))
      ? ["nav.figures.label", figures]
      : ahead.some(([p]) => under(p))
        ? ["nav.ahead.label", ahead]
        : ofShop.some(([p]) => under(p))
          ? ["nav.shop", ofShop]
          : ["", []];
  const at = (/** @type {string} */ path) =>
    under(path) ||
    (path === "/batches" && here.startsWith("/batch/")) ||
    (path === "/history" && within === figures) ||
    (path === "/ahead" && within === ahead) ||
    (path === "/calendars" && within === ofShop);
  return html`
    <header class="bar">
      <a class="home" href="/" aria-label=${say("nav.home")}>
        <img src=${mark} alt="" width="28" height="28" />
        <span>tallywalk</span>
      </a>
      ${me.value &&
      html`
        <nav aria-label=${say("nav.label")}>
          ${(me.value.sites ? ofSites : places)
            .filter(([, , d]) => may(d))
            .map(
              ([path, word]) => html`<a href=${path} aria-current=${at(path) ? "page" : undefined}>
                ${say(word)}
                ${path === "/questions" &&
                asks.value > 0 &&
                html` <b class="asks" data-test="asks">${asks.value}</b>`}
              </a>`,
            )}
        </nav>
        <${Who} />
        ${may("look") && !me.value.sites && html`<${Find} failed=${failed} />`}
      `}
      <${LanguageChoice} failed=${failed} />
    </header>
    ${me.value &&
    within.length > 0 &&
    may("look") &&
    html`<nav class="bar within" aria-label=${say(label)}>
      ${within
        .filter(([, , deed]) => !deed || may(deed))
        .map(
          ([path, word]) =>
            html`<a
              key=${path}
              href=${path}
              data-test=${"nav-" + path.slice(1)}
              aria-current=${under(path) ? "page" : undefined}>
              ${say(word)}
            </a>`,
        )}
    </nav>`}
    ${me.value &&
    me.value.open &&
    html`<aside class="demo" data-test="demo" aria-label=${say("demo.label")}>
      ${me.value.pace > 1 ? say("demo", me.value.pace) : say("demo.still")}
    </aside>`}
  `;
}

function Notes() {
  return html`<div class="notes" role="status" aria-live="polite">
    ${notes.value.map(
      (n) => html`<p key=${n.key} class=${"note " + n.kind} data-test="note">
        <span>${n.text}</span>
        ${n.action &&
        html`<button
          data-test="note-action"
          onClick=${() => {
            dropNote(n);
            n.action?.run();
          }}>
          ${n.action.label}
        </button>`}
        <button class="quiet" aria-label=${say("close")} onClick=${() => dropNote(n)}>${say("close")}</button>
      </p>`,
    )}
  </div>`;
}

// Doubt says that the server's clock can't be believed, on every page and wall;
// who may can say that it is right.
function Doubt() {
  if (!doubt.value) return null;
  const right = async () => {
    try {
      doubt.value = (await post("/api/v1/clock", { right: true })).doubt;
    } catch (err) {
      failed(err);
    }
  };
  return html`<div class="doubt" role="alert" data-test="doubt">
    <p><b>${say("clock.doubt")}</b> ${doubt.value}</p>
    ${may("accounts") &&
    html`<button data-test="clock-right" onClick=${right}>${say("clock.right")}</button>`}
  </div>`;
}

/** @param {{App: Component}} props */
function Frame({ App }) {
  useEffect(watchDoubt, []);
  return html`
    <${Bar} />
    <${Doubt} />
    <${Others} />
    ${may("enrol") && html`<${Unwell} />`}
    <main id="main"><${App} /></main>
    <${Working} />
    <${Notes} />
  `;
}

/**
 * learn asks who this page is for; without sign-in it leaves for the sign-in page.
 * @param {import("./api.js").Options} [options]
 */
export async function learn(options) {
  const asked = performance.now();
  const who = await get("/api/v1/me", options);
  setPace(who.pace);
  setClock(who.now, asked, performance.now());
  setZone(who.zone);
  me.value = who;
  keepOthers(who);
  return who;
}

const TYPE_MS = 1500; // type that has not come by then is measured later

/** typeface waits until type is there to be measured: labels and walls are laid out by it. */
export async function typeface() {
  const family = getComputedStyle(document.documentElement).fontFamily;
  const letters = "a" + (document.getElementById("words")?.textContent ?? ""); // also those beyond Latin-1
  const loads = ["", "bold "].map((weight) => document.fonts.load(`${weight}16px ${family}`, letters));
  const late = new Promise((done) => setTimeout(done, TYPE_MS));
  await Promise.race([Promise.all(loads).catch(() => {}), late]);
}

/** place is where a page is shown. */
export const place = () => /** @type {HTMLElement} */ (document.getElementById("page"));

/**
 * start shows a page. anyone: nobody needs to be signed in for it.
 * @param {Component} App
 * @param {{anyone?: boolean}} [props]
 */
export async function start(App, { anyone = false } = {}) {
  theme();
  startClock();
  const root = place();
  try {
    await Promise.all([learn({ stay: anyone }), typeface()]);
  } catch (err) {
    if (!anyone) {
      render(
        html`
          <${Bar} />
          <main id="main">
            <p class="empty" data-test="failed">${/** @type {Error} */ (err).message}</p>
            <${Others} />
            <button onClick=${() => location.reload()}>${say("again")}</button>
          </main>
        `,
        root,
      );
      return;
    }
  }
  render(html`<${Frame} App=${App} />`, root);
}
