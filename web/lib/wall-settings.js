// The settings of a wall screen, made on a board's page and kept in this
// browser, or made with a screen's link and kept with it.
import { html, useSignal } from "./vendor/ui.js";
import { TimeInput } from "./form.js";
import { address, capitalMM, keep, limits, read, themes } from "./wall-size.js";
import { say } from "./words.js";

/**
 * @typedef {import("./wall-size.js").Settings} Settings
 * @typedef {import("./_types.js").Input} Input
 */

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
