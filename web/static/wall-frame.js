// What every wall screen has: type sized from distance and diagonal, a foot that
// says how old the board is, a screen that stays awake, and a start that needs
// no hand.
import {html, render, useComputed, useEffect, useState} from "/static/vendor/ui.js";
import {learn, me} from "/static/shell.js";
import {openBoard} from "/static/board.js";
import {loadShop} from "/static/shop.js";
import {get} from "/static/api.js";
import {tick} from "/static/clock.js";
import {minuteText} from "/static/times.js";
import {say} from "/static/words.js";
import {Shape} from "/static/marks.js";
import {watchDoubt} from "/static/doubt.js";
import {stale} from "/static/link-state.js";
import {fontPx, read} from "/static/wall-size.js";
import {keepTheme} from "/static/wall-theme.js";

// typeSize sets the size of type and the colours of this screen, and gives the
// size in CSS pixels.
export function typeSize() {
  const s = read(location.search);
  keepTheme(s);
  const px = fontPx(s);
  document.documentElement.style.fontSize = px + "px";
  return px;
}

const kindWords = {late: "late", held: "state.held", stop: "state.stopped"};

// Foot says what the shapes mean and that the board is in step, or, over the
// whole width and with the screen's edge, how old it is.
export function Foot({kinds = ["late", "held"], words = kindWords}) {
  const bad = useComputed(stale);
  const clock = useComputed(() => minuteText(tick.value));
  useEffect(watchDoubt, []);
  useEffect(() => { document.documentElement.classList.toggle("is-stale", Boolean(bad.value)); }, [bad.value]);
  if (bad.value) return html`<footer class="wall-foot stale" role="alert" data-test="link-state" data-state="stale"><${Shape} kind="late" /><span>${bad}</span></footer>`;
  return html`<footer class="wall-foot" data-test="link-state" data-state="step"><span>${kinds.map((k) => html`<${Shape} key=${k} kind=${k} /> ${say(words[k])} `)}</span>
    <span>${say("link.step")} ${clock}</span></footer>`;
}

// stayAwake asks the browser not to darken the screen, where it can be asked.
async function stayAwake() {
  try { await navigator.wakeLock.request("screen"); } catch { /* the screen's own settings decide */ }
}

// useScreen gives what measure says of this screen, again when its size changes,
// and keeps it awake.
export function useScreen(measure) {
  const [size, setSize] = useState(measure);
  useEffect(() => {
    const resized = () => setSize(measure());
    addEventListener("resize", resized);
    const shown = () => { if (document.visibilityState === "visible") stayAwake(); };
    document.addEventListener("visibilitychange", shown);
    shown();
    return () => { removeEventListener("resize", resized); document.removeEventListener("visibilitychange", shown); };
  }, []);
  return size;
}

// onReopen takes the new page when the server came back as another version.
export async function onReopen() {
  const was = me.value && me.value.version;
  const who = await get("/api/v1/me", {stay: true}).catch(() => null);
  // Only once the page is there to be had: an error page would need a hand.
  const there = who && was && who.version !== was && await fetch(location.href, {cache: "reload"}).then((a) => a.ok, () => false);
  if (there) location.reload();
  loadShop().catch(() => {});
}

const renew = 12 * 3600e3; // ms after which the server lengthens what lets this screen in

export const isWall = () => new URLSearchParams(location.search).get("wall") === "1";

// startWall shows a board as a wall screen, and tries again until it can.
export async function startWall(title, Wall, name) {
  document.documentElement.classList.add("wall");
  document.title = say("title", say(title));
  const root = document.getElementById("page");
  try {
    await learn({stay: true});
    await loadShop();
  } catch (err) {
    render(html`<p class="wall-out" data-test="wall-out">${err.status === 401 ? say("wall.out") : err.message}</p>`, root);
    setTimeout(() => startWall(title, Wall, name), 5000);
    return;
  }
  render(html`<${Wall} />`, root);
  setInterval(() => get("/api/v1/me", {stay: true}).catch(() => {}), renew);
  openBoard({name, onReopen});
}
