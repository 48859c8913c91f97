// What every wall screen has: type sized from distance and diagonal, a head, a foot that says
// how old the board is, a screen that stays awake, and a start that needs no hand.
import { html, render, useComputed, useEffect, useSignal, useState } from "./vendor/ui.js";
import { get, watchDoubt } from "./api.js";
import { openAgain, openBoard, stale } from "./board.js";
import { startClock, tick } from "./clock.js";
import { Shape } from "./marks.js";
import { learn, me, place, typeface } from "./shell.js";
import {
  away,
  hasOthers,
  learnServers,
  lookAround,
  passProtocols,
  renewPage,
  useServers,
} from "./servers.js";
import { loadShop } from "./shop.js";
import { minuteText } from "./times.js";
import { needWord } from "./needs.js";
import { packLines } from "./wall-fit.js";
import { fontPx, isFar, keepTheme, read, textWidth } from "./wall-size.js";
import { say } from "./words.js";

/**
 * Glass is a wall screen: the size of type in px, how high a line is, how wide and high it
 * is, whether it is read from far, and how wide a text is on it.
 * @typedef {object} Glass
 * @property {number} px
 * @property {number} line
 * @property {number} w
 * @property {number} h
 * @property {boolean} far
 * @property {import("./wall-fit.js").Width} width
 */

const pad = 0.3; // em, at both sides, as in wall.css

/**
 * glass sets the size of type and the colours of this screen, and says what it is.
 * @returns {Glass}
 */
export function glass() {
  const s = read(location.search);
  keepTheme(s);
  const px = fontPx(s),
    root = document.documentElement;
  root.style.fontSize = px + "px";
  const far = isFar(s, innerWidth / px);
  // Large type has room between its lines anyway.
  const line = px * (far ? 1.1 : 1.2);
  root.style.setProperty("--line", line + "px");
  // A screen that has lost its server has an edge on all sides, as in wall.css.
  const edge = 2 * Math.max(8, 0.1 * px);
  return {
    px,
    line,
    far,
    w: innerWidth - edge - 2 * pad * px,
    h: innerHeight - edge,
    width: (text, bold) => textWidth(text, px, bold),
  };
}

const apart = 0.6; // em, between the parts of head and foot, as in wall.css

/**
 * linesFor is how many lines a board has between its head and its foot.
 * @param {Glass} g
 * @param {string[]} said in the head
 * @param {string[]} kinds in the legend
 */
export function linesFor(g, said, kinds) {
  const gap = apart * g.px;
  const head = packLines(
    said.map((x) => g.width(x, true)),
    g.w,
    gap,
  );
  const foot = packLines(
    [...kinds.map((k) => g.width(needWord(k)) + 1.35 * g.px), g.width(liveText("00:00"))],
    g.w,
    gap,
  );
  return Math.max(1, Math.floor((g.h - 0.1 * g.px) / g.line) - head - foot);
}

/**
 * headLine puts what a head says into one sentence where that fits, else one under the
 * other.
 * @param {Glass} g
 * @param {string[]} said
 */
export function headLine(g, said) {
  const all = said.join(", ");
  return g.width(all, true) <= g.w ? [all] : said;
}

/** @type {(time: string) => string} */
const liveText = (time) =>
  away.value ? say("link.through.wall", away.value.other) + ", " + time : say("link.step") + " " + time;

/**
 * Head says what the board comes to.
 * @param {{said: string[]}} props
 */
export const Head = ({ said }) =>
  html`<div class="wall-head">
    <h1 data-test="wall-total">${said[0]}</h1>
    ${said.slice(1).map((x) => html`<span key=${x} data-test="wall-said">${x}</span>`)}
  </div>`;

/**
 * Box is a mark as it is drawn on a wall, with a number where there are several.
 * @param {{kind: string, n?: number}} props
 */
export const Box = ({ kind, n }) =>
  html`<span class="wall-box" data-mark=${kind}><${Shape} kind=${kind} />${n}</span>`;

/**
 * gridOf is the columns that fitColumns chose, as a style says them.
 * @param {{w: number}[]} used
 */
export const gridOf = (used) => used.map((s) => `minmax(0, ${s.w}px)`).join(" ");

/**
 * Lined is what a line of a wall says something of.
 * @typedef {{row: {key: string, hot?: boolean}, kind?: string}} Lined
 */

/**
 * WallLines are rows of a wall; columns gives those of a row, data its attributes.
 * @template {Lined} R
 * @param {{list: R[], columns: (x: R) => import("./wall-fit.js").Column<R>[],
 *   data: (x: R) => Record<string, unknown>}} props
 */
export const WallLines = ({ list, columns, data }) =>
  list.map((x) => html`<${WallLine} key=${x.row.key} x=${x} used=${columns(x)} data=${data(x)} />`);

/**
 * WallLine is a row in its columns, one of which is its mark, if it has one, and one that it
 * is hot.
 * @template {Lined} R
 * @param {{x: R, used: import("./wall-fit.js").Column<R>[], data: Record<string, unknown>}} props
 */
const WallLine = ({ x, used, data }) =>
  html`<div class="wall-line" style=${{ gridTemplateColumns: gridOf(used) }} ...${data}>
    ${used.map((s) =>
      s.key === "mark"
        ? html`<span key="mark">${x.kind && html`<${Box} kind=${x.kind} />`}</span>`
        : s.key === "hot"
          ? html`<span key="hot" data-part="hot">${x.row.hot && html`<${Box} kind="hot" />`}</span>`
          : html`<span key=${s.key} class=${s.bold ? "bold" : ""} data-part=${s.key}>${s.text?.(x)}</span>`,
    )}
  </div>`;

/**
 * Foot says what the marks mean that stand there without a word, and that the board is
 * live, or, over the whole width and with the screen's edge, how old it is.
 * @param {{kinds: string[]}} props
 */
export function Foot({ kinds }) {
  const bad = useComputed(stale);
  const clock = useComputed(() => minuteText(tick.value));
  useEffect(watchDoubt, []);
  useEffect(() => {
    document.documentElement.classList.toggle("is-stale", Boolean(bad.value));
  }, [bad.value]);
  if (bad.value)
    return html`<div class="wall-foot stale" role="alert" data-test="link-state" data-state="stale">
      <${Shape} kind="gone" />
      <span>${bad}</span>
    </div>`;
  return html`<div class="wall-foot" data-test="link-state" data-state="step">
    ${kinds.map(
      (k) => html`<span key=${k} class="wall-key" data-test="wall-key">
        <${Box} kind=${k} /> ${needWord(k)}
      </span>`,
    )}
    <span class="wall-live">${liveText(clock.value)}</span>
  </div>`;
}

// stayAwake asks the browser not to darken the screen, where it can be asked.
async function stayAwake() {
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    /* the screen's own settings decide */
  }
}

/**
 * useScreen gives what measure says of this screen, again when its size changes,
 * and keeps it awake.
 * @template T
 * @param {() => T} measure
 */
export function useScreen(measure) {
  const [size, setSize] = useState(measure);
  useEffect(() => {
    const resized = () => setSize(measure());
    addEventListener("resize", resized);
    const shown = () => {
      if (document.visibilityState === "visible") stayAwake();
    };
    document.addEventListener("visibilitychange", shown);
    shown();
    return () => {
      removeEventListener("resize", resized);
      document.removeEventListener("visibilitychange", shown);
    };
  }, []);
  return size;
}

const TURN_MS = 15000; // a page stays

/** useTurning counts the pages that were shown, one more each time it is to turn. */
export function useTurning() {
  const page = useSignal(0);
  useEffect(() => {
    const turning = setInterval(() => {
      page.value++;
    }, TURN_MS);
    return () => clearInterval(turning);
  }, []);
  return page.value;
}

// onReopen takes the new page when the server came back as another version.
export async function onReopen() {
  const was = me.value && me.value.version;
  const who = await get("/api/v1/me", { stay: true }).catch(() => null);
  // Only once the page is there to be had: an error page would need a hand.
  const there =
    who &&
    was &&
    who.version !== was &&
    (await fetch(location.href, { cache: "reload" }).then(
      (a) => a.ok,
      () => false,
    ));
  if (there) location.reload();
  if (who) learnServers(who);
  loadShop().catch(() => {});
}

const ASK_MS = 5 * 60000; // how often a screen asks which servers there are, and lengthens what lets it in

export const isWall = () => new URLSearchParams(location.search).get("wall") === "1";

// keepPage keeps the board itself in this screen, where the browser lets it, for the time when
// the server that it comes from is away and another one has its rows (kiosk/page/worker.js).
async function keepPage(/** @type {string} */ name) {
  if (!navigator.serviceWorker || !hasOthers()) return;
  try {
    const options = /** @type {const} */ ({ scope: "/" + name, updateViaCache: "none" });
    const own = await navigator.serviceWorker.register(`/${name}-sw.js`, options);
    setInterval(() => {
      own.waiting?.postMessage("take");
      own.update().catch(() => {});
    }, ASK_MS);
  } catch {
    // Its server is away just now, or its certificate is not trusted.
  }
}

// askServers asks which servers there are; where one joined, the board is loaded again.
export const askServers = () =>
  get("/api/v1/me", { stay: true })
    .then(learnServers)
    .then(renewPage)
    .catch(() => {});

let used = false;
// useOnce begins with the servers that this screen knows.
function useOnce() {
  if (!used) useServers({ onChange: openAgain });
  used = true;
}

/**
 * startWall shows a board as a wall screen, and tries again until it can.
 * @param {import("./shell.js").Component} Wall
 * @param {keyof import("./board.js").Boards} name
 */
export async function startWall(Wall, name) {
  document.documentElement.classList.add("wall");
  const root = place();
  root.setAttribute("role", "main");
  useOnce();
  try {
    await learnServers(await learn({ stay: true }));
    await loadShop();
    await typeface();
  } catch (e) {
    const err = /** @type {import("./api.js").Problem} */ (e);
    if (err.passing && hasOthers() && (await lookAround())) return startWall(Wall, name);
    render(
      html`<p class="wall-out" data-test="wall-out">
        ${err.status === 401 ? say("wall.out") : err.message}
      </p>`,
      root,
    );
    setTimeout(() => startWall(Wall, name), 5000);
    return;
  }
  render(html`<${Wall} />`, root);
  startClock();
  setInterval(askServers, ASK_MS);
  keepPage(name);
  openBoard({ name, onReopen, through: { change: lookAround, protocols: passProtocols } });
}
