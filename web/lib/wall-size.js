// How large the type of a wall screen must be. Capitals are distance/200 high
// (FAA's human factors design standard) and never under 16 minutes of arc
// (NUREG-0700); a millimetre is known from the screen's diagonal and pixels.
import { effect } from "./vendor/ui.js";
import { tick } from "./clock.js";
import { localText } from "./times.js";

/**
 * Settings of a wall screen: viewing distance in m, diagonal in inches, colours,
 * and from when on they are dark and light.
 * @typedef {{m: number, in: number, theme: string, dark: string, light: string}} Settings
 */

const kept = "tw.wall";
const leastArc = (16 / 60) * (Math.PI / 180);

/** @type {Record<"m" | "in", [number, number]>} */
export const limits = { m: [1, 30], in: [7, 120] };
export const themes = ["auto", "light", "dark", "clock"];
export const boards = ["waits", "ground", "pace"];
export const defaults = { m: 5, in: 43, theme: "auto", dark: "19:00", light: "06:00" };

/** @type {(v: number, limits: [number, number], other: number) => number} */
const within = (v, [low, high], other) => (Number.isFinite(v) && v >= low && v <= high ? v : other);
/** @type {(v: string | undefined, other: string) => string} */
const timeOfDay = (v, other) => (v && /^([01]\d|2[0-3]):[0-5]\d$/.test(v) ? v : other);

/**
 * read takes the settings from the address, else from this browser, else the
 * defaults.
 * @param {string} search
 */
export function read(search) {
  /** @type {Partial<Settings>} */
  let own = {};
  try {
    own = JSON.parse(localStorage.getItem(kept) ?? "") || {};
  } catch {
    /* unreadable: as if none were kept */
  }
  const q = new URLSearchParams(search);
  const pick = (/** @type {"m" | "in"} */ k) => (q.has(k) ? Number(q.get(k)) : Number(own[k] ?? NaN));
  const theme = q.get("theme") || own.theme || "",
    time = (/** @type {"dark" | "light"} */ k) => timeOfDay(q.get(k) || own[k], defaults[k]);
  return {
    m: within(pick("m"), limits.m, defaults.m),
    in: within(pick("in"), limits.in, defaults.in),
    theme: themes.includes(theme) ? theme : defaults.theme,
    dark: time("dark"),
    light: time("light"),
  };
}

/** @param {Settings} s */
export const keep = (s) => localStorage.setItem(kept, JSON.stringify(s));

/**
 * @param {Settings} s
 * @param {string} [board]
 */
export function address(s, board = "waits") {
  const hours = s.theme === "clock" ? `&dark=${s.dark}&light=${s.light}` : "";
  return `/${board}?wall=1&m=${s.m}&in=${s.in}&theme=${s.theme}${hours}`;
}

/**
 * capitalMM is how high capitals must be, in mm, at a distance in m.
 * @param {number} m
 */
export const capitalMM = (m) => Math.max((m * 1000) / 200, m * 1000 * Math.tan(leastArc));

/**
 * pxPerMM is how many CSS pixels of this screen make a millimetre.
 * @param {number} inches
 * @param {number} width
 * @param {number} height
 */
function pxPerMM(inches, width, height) {
  return Math.hypot(width, height) / (inches * 25.4);
}

/**
 * capitalOf is the height of a capital as a part of the font size.
 * @param {string} family
 */
function capitalOf(family) {
  const c = document.createElement("canvas").getContext("2d");
  if (!c) return 0.7;
  c.font = `100px ${family}`;
  const h = c.measureText("H").actualBoundingBoxAscent / 100;
  return h > 0.4 && h < 1 ? h : 0.7;
}

/**
 * fontPx is the font size, in CSS pixels, for these settings on this screen.
 * @param {Settings} s
 */
export function fontPx(s) {
  const w = Math.max(screen.width, innerWidth),
    h = Math.max(screen.height, innerHeight);
  const capital = capitalMM(s.m) * pxPerMM(s.in, w, h);
  return capital / capitalOf(getComputedStyle(document.documentElement).fontFamily);
}

/** @type {Map<string, CanvasRenderingContext2D>} */
const fonts = new Map();

/**
 * textWidth is how wide a text is, in px. Figures are as wide as a zero on a page, which a
 * canvas does not know.
 * @param {string} text
 * @param {number} px
 * @param {boolean} [bold]
 */
export function textWidth(text, px, bold) {
  const family = getComputedStyle(document.documentElement).fontFamily;
  const font = `${bold ? "bold " : ""}${px}px ${family}`;
  let c = fonts.get(font);
  if (!c) {
    const made = document.createElement("canvas").getContext("2d");
    if (!made) return 0;
    c = made;
    c.font = font;
    fonts.set(font, c);
  }
  return c.measureText(text.replaceAll(/\d/g, "0")).width;
}

const farFrom = 7; // m: from here on a wall says less, and larger

/**
 * isFar says whether a wall is to be read from far: by its distance, or because its type is
 * as large as it would be then.
 * @param {Settings} s
 * @param {number} em how many times the size of type the screen is wide
 */
export const isFar = (s, em) => s.m >= farFrom || em < 14;

// Light or dark on a wall screen: as it is set, or by the shop's clock.

/**
 * themeAt is light or dark at a time of day such as 18:30; the dark hours may
 * pass midnight.
 * @param {Settings} s
 * @param {string} time
 */
export function themeAt(s, time) {
  const dark = s.dark <= s.light ? time >= s.dark && time < s.light : time >= s.dark || time < s.light;
  return dark ? "dark" : "light";
}

let stop = () => {};

/**
 * keepTheme sets the colours, and by the clock changes them when it is time.
 * @param {Settings} s
 */
export function keepTheme(s) {
  stop();
  stop = () => {};
  const root = document.documentElement;
  if (s.theme !== "clock") {
    if (s.theme !== "auto") root.dataset.theme = s.theme;
    return;
  }
  stop = effect(() => {
    const next = themeAt(s, localText(tick.value).slice(11, 16));
    if (root.dataset.theme !== next) root.dataset.theme = next;
  });
}
