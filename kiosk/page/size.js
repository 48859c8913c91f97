// How many CSS pixels are a millimetre on this screen: set once by holding a
// bank card against a bar; until then a guess.
import { html, useState } from "../../web/lib/vendor/ui.js";
import { guessMillimetre } from "./glass.js";
import { over, remember, remembered } from "./state.js";
import { say } from "../../web/lib/words.js";

// The sides of a card, ISO/IEC 7810 ID-1. A phone is narrower than the long one.
const LONG_MM = 85.6;
const SHORT_MM = 53.98;
const NARROW_PX = 640;

const guess = () =>
  guessMillimetre({
    width: screen.width,
    height: screen.height,
    ratio: devicePixelRatio,
    touch: matchMedia("(any-pointer: coarse)").matches,
  });

let mm = remembered("mm") || guess();

/** How many CSS pixels a millimetre is. */
export const millimetre = () => mm;

/** Applies the size to the page. */
export function applySize() {
  document.documentElement.style.setProperty("--mm", mm + "px");
}

/** The calibration. */
export function SizeView() {
  const short = innerWidth < NARROW_PX;
  const side = short ? SHORT_MM : LONG_MM;
  const [wide, setWide] = useState(Math.round(mm * side));
  const step = (/** @type {number} */ d) => () => setWide(Math.max(150, Math.min(innerWidth - 30, wide + d)));
  const use = () => {
    mm = wide / side;
    remember("mm", mm);
    applySize();
    over.value = "";
  };
  return html`<section class="panel" data-test="size">
    <h2>${say("size.title")}</h2>
    <p>${say(short ? "size.how.short" : "size.how")}</p>
    <div class="ruler" data-test="size-bar" style=${{ width: wide + "px" }}></div>
    <div class="row">
      <button class="key" data-test="size-less" onClick=${step(-1)}>−1</button>
      <button class="key" onClick=${step(-10)}>${say("size.less")}</button>
      <button class="key" onClick=${step(10)}>${say("size.more")}</button>
      <button class="key" data-test="size-more" onClick=${step(1)}>+1</button>
    </div>
    <button class="main" data-test="size-ok" onClick=${use}>${say("size.ok")}</button>
  </section>`;
}
