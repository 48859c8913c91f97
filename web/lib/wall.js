// What every wall screen has: at most three pages of large type, a foot that says how
// old the board is, a screen that stays awake, a start that needs no hand; and its
// settings.
import { html, render, useComputed, useEffect, useSignal, useState } from "./vendor/ui.js";
import { get, watchDoubt } from "./api.js";
import { openBoard, stale } from "./board.js";
import { startClock, tick } from "./clock.js";
import { TimeInput } from "./form.js";
import { Shape } from "./marks.js";
import { learn, me, place, typeface } from "./shell.js";
import { loadShop } from "./shop.js";
import { minuteText } from "./times.js";
import { address, capitalMM, fontPx, keep, keepTheme, limits, read, themes } from "./wall-size.js";
import { say } from "./words.js";

// Bringing a board onto at most three pages of a wall screen. Type never
// shrinks: what has no room is counted in a last line instead.

/**
 * Block is a part of a board: how many lines it takes, and how much it is needed.
 * @typedef {{lines: number, need: number}} Block
 * @typedef {import("./wall-size.js").Settings} Settings
 * @typedef {import("./types.js").Input} Input
 */

const mostPages = 3;

/**
 * lay packs blocks of {lines} onto pages of so many lines, in order.
 * @template {Block} B
 * @param {B[]} blocks
 * @param {number} lines
 */
function lay(blocks, lines) {
  /** @type {B[][]} */
  const pages = [];
  let room = 0;
  for (const b of blocks) {
    if (pages.length === 0 || b.lines > room) {
      pages.push([]);
      room = lines;
    }
    pages[pages.length - 1].push(b);
    room -= b.lines;
  }
  return pages;
}

/**
 * fit gives the pages for the blocks. A block is {lines, need}: when there is
 * no room, those with the least need go first, and more(left) makes the block
 * that stands for them.
 * @template {Block} B
 * @param {B[]} blocks
 * @param {number} lines
 * @param {(left: B[]) => B} more
 */
export function fit(blocks, lines, more) {
  let shown = blocks;
  /** @type {B[]} */
  let left = [];
  for (;;) {
    const all = left.length ? [...shown, more(left)] : shown;
    const pages = lay(all, lines);
    if (pages.length <= mostPages || shown.length === 0) return pages;
    const least = shown.reduce((a, b) => (b.need <= a.need ? b : a));
    left = [...left, least];
    shown = shown.filter((b) => b !== least);
  }
}

/**
 * worst puts first what is hot, then what is late (the latest first), then what waits
 * longest.
 * @template {{late: boolean, hot?: boolean, due?: string, since: string}} T
 * @param {T[]} list
 */
export function worst(list) {
  const late = (/** @type {T} */ r) => (r.late && r.due) || "9999-99-99";
  return [...list].sort(
    (a, b) =>
      Number(Boolean(b.hot)) - Number(Boolean(a.hot)) ||
      (late(a) < late(b) ? -1 : late(a) > late(b) ? 1 : Date.parse(a.since) - Date.parse(b.since)),
  );
}

// What every wall screen has: type sized from distance and diagonal, a foot that
// says how old the board is, a screen that stays awake, and a start that needs
// no hand.

// typeSize sets the size of type and the colours of this screen, and gives the
// size in CSS pixels.
export function typeSize() {
  const s = read(location.search);
  keepTheme(s);
  const px = fontPx(s);
  document.documentElement.style.fontSize = px + "px";
  return px;
}

/** @type {Record<string, string>} */
const kindWords = { late: "late", held: "state.held", stop: "state.stopped" };

/**
 * Foot says what the shapes mean and that the board is in step, or, over the
 * whole width and with the screen's edge, how old it is.
 * @param {{kinds?: string[], words?: Record<string, string>}} props
 */
export function Foot({ kinds = ["late", "held"], words = kindWords }) {
  const bad = useComputed(stale);
  const clock = useComputed(() => minuteText(tick.value));
  useEffect(watchDoubt, []);
  useEffect(() => {
    document.documentElement.classList.toggle("is-stale", Boolean(bad.value));
  }, [bad.value]);
  if (bad.value)
    return html`<div class="wall-foot stale" role="alert" data-test="link-state" data-state="stale">
      <${Shape} kind="late" />
      <span>${bad}</span>
    </div>`;
  return html`<div class="wall-foot" data-test="link-state" data-state="step">
    <span>${kinds.map((k) => html`<${Shape} key=${k} kind=${k} /> ${say(words[k])} `)}</span>
    <span>${say("link.step")} ${clock}</span>
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

/**
 * Rows are the blocks of one page, each drawn by its kind.
 * @param {{blocks: {kind: unknown, key: string}[]}} props
 */
export const Rows = ({ blocks }) =>
  html`<div class="wall-rows" data-test="wall-rows">
    ${blocks.map((b) => html`<${b.kind} key=${b.key} b=${b} />`)}
  </div>`;

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
  loadShop().catch(() => {});
}

const renew = 12 * 3600e3; // ms after which the server lengthens what lets this screen in

export const isWall = () => new URLSearchParams(location.search).get("wall") === "1";

/**
 * startWall shows a board as a wall screen, and tries again until it can.
 * @param {import("./shell.js").Component} Wall
 * @param {string} name
 */
export async function startWall(Wall, name) {
  document.documentElement.classList.add("wall");
  const root = place();
  root.setAttribute("role", "main");
  try {
    await learn({ stay: true });
    await loadShop();
    await typeface();
  } catch (e) {
    const err = /** @type {import("./api.js").Problem} */ (e);
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
  setInterval(() => get("/api/v1/me", { stay: true }).catch(() => {}), renew);
  openBoard({ name, onReopen });
}

// The settings of a wall screen, made on a board's page and kept in this
// browser, or made with a screen's link and kept with it.

/**
 * WallFields are the fields: s is what is set, set takes a field and its value.
 * @param {{s: Settings, set: (field: string, value: string | number) => void}} props
 */
export function WallFields({ s, set }) {
  const number = (/** @type {"m" | "in"} */ k) => html`<label>
    ${say("wall." + k)}
    <input
      type="number"
      min=${limits[k][0]}
      max=${limits[k][1]}
      step=${k === "m" ? 0.5 : 1}
      value=${s[k]}
      data-test=${"wall-" + k}
      onChange=${(/** @type {Input} */ e) => {
        if (e.target.validity.valid && e.target.value) set(k, Number(e.target.value));
      }}
    />
  </label>`;
  const time = (/** @type {"dark" | "light"} */ k) => html`<label>
    ${say("wall." + k)}
    <${TimeInput} value=${s[k]} data-test=${"wall-" + k} set=${(/** @type {string} */ v) => set(k, v)} />
  </label>`;
  return html`
    ${number("m")}
    ${number("in")}
    <label>
      ${say("wall.theme")}
      <select
        data-test="wall-theme"
        value=${s.theme}
        onChange=${(/** @type {Input} */ e) => set("theme", e.target.value)}>
        ${themes.map(
          (t) => html`<option key=${t} value=${t} selected=${t === s.theme}>${say("theme." + t)}</option>`,
        )}
      </select>
    </label>
    ${s.theme === "clock" && html`${time("dark")}${time("light")}`}
    <p class="soft">${say("wall.capital", Math.round(capitalMM(s.m)))}</p>
  `;
}

/** @param {{board?: string}} props */
export function WallSettings({ board = "waits" }) {
  const s = useSignal(read(location.search));
  const set = (/** @type {string} */ k, /** @type {string | number} */ v) => {
    s.value = { ...s.value, [k]: v };
    keep(s.value);
  };
  return html`<details class="wall-settings" data-test="wall-settings">
    <summary>${say("wall.settings")}</summary>
    <div>
      <${WallFields} s=${s.value} set=${set} />
      <a class="button act" href=${address(s.value, board)} data-test="wall-link">${say("wall.show")}</a>
    </div>
  </details>`;
}
