// What is seldom needed: machines, size, scanner, theme, sound, cautions.
import { html, useEffect, useState } from "../../web/lib/vendor/ui.js";
import { CameraKey } from "./camera.js";
import { isQuiet, setQuiet } from "./edge.js";
import { forgetRhythm, learn, learning } from "./scanner.js";
import { Plain } from "./plain.js";
import { link } from "./outbox.js";
import { practising, toPractice } from "./practising.js";
import { current, me, over, remember, remembered, screen } from "./state.js";
import { languageName } from "../../web/lib/language.js";
import { count, language, say } from "../../web/lib/words.js";

const THEMES = ["auto", "light", "dark"];

/** Applies the theme that the device remembers. */
export function applyTheme() {
  const t = remembered("theme") || "auto";
  if (t === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = t;
}

export function MenuView() {
  const [, again] = useState(0);
  const theme = remembered("theme") || "auto";
  const turn = () => {
    remember("theme", THEMES[(THEMES.indexOf(theme) + 1) % THEMES.length]);
    applyTheme();
    again((n) => n + 1);
  };
  const mute = () => {
    setQuiet(!isQuiet());
    again((n) => n + 1);
  };
  const go = (/** @type {string} */ name) => () => (over.value = name);
  const choose = () => {
    screen.value = "choose";
    over.value = "";
  };
  /** @type {(test: string, word: string, press: () => void) => unknown} */
  const key = (test, word, press) =>
    html`<button class="key step" data-test=${test} onClick=${press}>${word}</button>`;
  return html`<section class="panel" data-test="menu-panel">
    <h2>${say("menu")}</h2>
    <p class="caution"><b>${say("caution.title")}.</b> ${say("caution")} ${say("caution.quarantine")}</p>
    <div class="keys">
      <${CameraKey} test="menu-camera" />
      ${key("menu-machines", say("menu.machines"), choose)}
      ${key("menu-size", say("menu.size"), go("size"))}
      ${key("menu-learn", say("menu.learn"), go("learn"))}
      ${key("menu-theme", `${say("menu.theme")}: ${say("theme." + theme)}`, turn)}
      ${key("menu-language", `${say("language")}: ${languageName(language)}`, go("language"))}
      ${key("menu-sound", `${say("menu.sound")}: ${say(isQuiet() ? "sound.off" : "sound.on")}`, mute)}
      ${key("menu-answers", say("menu.answers"), go("answers"))}
      ${!practising && html`<${PracticeKey} />`}
      <a class="key step" data-test="menu-start" href="/">${say("menu.start")}</a>
    </div>
    <${Plain} />
    <p class="soft">tallywalk ${me.value?.version}</p>
    ${key("back", say("pad.back"), go(""))}
  </section>`;
}

/** Practice begins when nothing waits to be sent: nobody sends it meanwhile. */
function PracticeKey() {
  const waits = link.value.waiting > 0;
  return html`
    <button
      class="key step"
      data-test="menu-practice"
      disabled=${waits}
      onClick=${() => toPractice(current.value)}>
      ${say("practice.menu")}
    </button>
    ${waits && html`<p class="soft">${count("practice.waits", link.value.waiting)}</p>`}
  `;
}

/** Waits for the scanner test card. */
export function LearnView() {
  useEffect(() => (learning(true), () => learning(false)), []);
  const forget = () => {
    learn({});
    forgetRhythm();
    over.value = "";
  };
  return html`<section class="panel" data-test="learn">
    <h2>${say("learn.title")}</h2>
    <p>${say("learn.how")}</p>
    <div class="keys">
      <button class="key step" data-test="learn-forget" onClick=${forget}>${say("learn.forget")}</button>
      <button class="key step" data-test="back" onClick=${() => (over.value = "")}>${say("pad.back")}</button>
    </div>
  </section>`;
}
