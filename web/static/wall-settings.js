// The settings of a wall screen, made on the page and kept in this browser.
import {html, useSignal} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {address, capitalMM, keep, limits, read} from "/static/wall-size.js";

export function WallSettings() {
  const s = useSignal(read(location.search));
  const set = (k, v) => {
    s.value = {...s.value, [k]: v};
    keep(s.value);
  };
  const number = (k) => html`<label>${say("wall." + k)}
    <input type="number" min=${limits[k][0]} max=${limits[k][1]} step=${k === "m" ? 0.5 : 1} value=${s.value[k]} data-test=${"wall-" + k}
      onChange=${(e) => { if (e.target.validity.valid && e.target.value) set(k, Number(e.target.value)); }} /></label>`;
  return html`<details class="wall-settings" data-test="wall-settings"><summary>${say("wall.settings")}</summary>
    <div>${number("m")}${number("in")}
      <label>${say("wall.theme")}<select data-test="wall-theme" value=${s.value.theme} onChange=${(e) => set("theme", e.target.value)}>
        ${["auto", "light", "dark"].map((t) => html`<option value=${t} selected=${t === s.value.theme}>${say("theme." + t)}</option>`)}</select></label>
      <p class="soft">${say("wall.capital", Math.round(capitalMM(s.value.m)))}</p>
      <a class="button act" href=${address(s.value)} data-test="wall-link">${say("wall.show")}</a></div></details>`;
}
