// Stations and wall screens: enrol one, hang one up, remove it.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { del, get, patch, post } from "../../lib/api.js";
import { Form } from "../../lib/form.js";
import { At } from "../../lib/marks.js";
import { failed, me, note, start } from "../../lib/shell.js";
import { loadShop, machineName, shop, theShop } from "../../lib/shop.js";
import { boards, defaults } from "../../lib/wall-size.js";
import { WallFields } from "../../lib/wall-settings.js";
import { languageName } from "../../lib/language.js";
import { say } from "../../lib/words.js";
import { Listed, remove } from "./parts.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["HungScreen"]} HungScreen
 * @typedef {Schema["Pass"]} Pass
 */

/**
 * languageOptions are the languages of stations and walls; first that nobody chooses.
 * @returns {[string, string][]}
 */
const languageOptions = () => [
  ["", say("language.device")],
  ...(me.value?.languages ?? []).map(/** @returns {[string, string]} */ (code) => [code, languageName(code)]),
];

// Wall screens: hang one up by a link that brings its board back as it was made,
// see them, take them off.

/** @param {HungScreen} x */
const themeText = (x) =>
  x.theme === "clock" ? say("theme.clock.shown", x.dark, x.light) : say("theme." + x.theme);

/** @param {{after: () => void}} props */
function Screen({ after }) {
  const name = useSignal(""),
    board = useSignal(boards[0]),
    language = useSignal(""),
    s = useSignal(defaults),
    given = useSignal(""),
    problem = useSignal(/** @type {{field?: string, message?: string}} */ ({})),
    busy = useSignal(false);
  const go = async (/** @type {Event} */ e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    problem.value = {};
    const { dark, light, ...rest } = s.value;
    try {
      given.value = (
        await post("/api/v1/screens", {
          name: name.value.trim(),
          board: board.value,
          ...(language.value && { language: language.value }),
          ...rest,
          ...(rest.theme === "clock" ? { dark, light } : {}),
        })
      ).link;
      name.value = "";
      after();
    } catch (err) {
      problem.value = /** @type {Error} */ (err);
    } finally {
      busy.value = false;
    }
  };
  const copy = () =>
    navigator.clipboard.writeText(given.value).then(
      () => note("good", say("copied")),
      () => note("bad", say("copy.by-hand")),
    );
  return html`
    <h2>${say("screens.give")}</h2>
    <p class="soft">${say("screens.what")}</p>
    <form class="small-form" data-test="screen" onSubmit=${go}>
      <label>
        ${say("stations.name")}
        <input
          data-test="screen-name"
          required
          maxlength="60"
          autocomplete="off"
          value=${name.value}
          onInput=${(/** @type {Input} */ e) => {
            name.value = e.target.value;
          }}
          aria-invalid=${problem.value.field === "name" ? "true" : undefined}
        />
      </label>
      <label>
        ${say("screens.board")}
        <select
          data-test="screen-board"
          onChange=${(/** @type {Input} */ e) => {
            board.value = e.target.value;
          }}>
          ${boards.map(
            (b) =>
              html`<option key=${b} value=${b} selected=${b === board.value}>${say("board." + b)}</option>`,
          )}
        </select>
      </label>
      <label>
        ${say("language")}
        <select
          data-test="screen-language"
          onChange=${(/** @type {Input} */ e) => {
            language.value = e.target.value;
          }}>
          ${languageOptions().map(
            ([code, name]) =>
              html`<option key=${code} value=${code} selected=${code === language.value}>${name}</option>`,
          )}
        </select>
      </label>
      <${WallFields}
        s=${s.value}
        set=${(/** @type {string} */ k, /** @type {string | number} */ v) => {
          s.value = { ...s.value, [k]: v };
        }}
      />
      ${problem.value.message &&
      html`<p class="problem" role="alert" data-test="problem">${problem.value.message}</p>`}
      <p class="deeds">
        <button class="act" type="submit" disabled=${busy.value} data-test="screen-go">
          ${say("screens.do")}
        </button>
      </p>
    </form>
    ${given.value &&
    html`<div class="given" role="status">
      <p>${say("screens.once")}</p>
      <p class="link" data-test="screen-link">${given.value}</p>
      ${navigator.clipboard && html`<button onClick=${copy}>${say("copy")}</button>`}
    </div>`}
  `;
}

/** @param {{list: HungScreen[], after: () => void}} props */
function ScreenList({ list, after }) {
  const gone = (/** @type {HungScreen} */ x) =>
    remove(`/api/v1/screens/${encodeURIComponent(x.id)}`, x.name, after);
  const rows = list.map(
    (x) => html`<tr key=${x.id} data-test="screens-row" data-name=${x.name}>
      <td data-label=${say("stations.name")}><b>${x.name}</b></td>
      <td data-label=${say("screens.board")}>
        ${say("screens.shows", say("board." + x.board), x.m, x.in, themeText(x))}
      </td>
      <td data-label=${say("head.since")}>
        <${At} t=${x.made} /> ${x.by && html`<small>${say("by", x.by)}</small>`}
      </td>
      <td><button data-test="remove" onClick=${() => gone(x)}>${say("stations.remove")}</button></td>
    </tr>`,
  );
  return html`<${Listed}
    rows=${rows}
    heads=${["stations.name", "screens.board", "head.since"]}
    none=${say("screens.none")}
  />`;
}

// Stations and wall screens: enrol them, see them, take them off.

const nameField = () => ({
  name: "name",
  label: say("stations.name"),
  required: true,
  maxlength: 60,
  autocomplete: "off",
});

function Enrol() {
  const given = useSignal(/** @type {Schema["EnrolCode"] | null} */ (null));
  const machines = [
    ["", say("stations.later")],
    ...theShop().machines.map((m) => [m.machine, `${m.machine} ${m.name}`]),
  ];
  const go = async (/** @type {Record<string, string>} */ v) => {
    given.value = await post("/api/v1/enrol-codes", {
      name: v.name.trim(),
      ...(v.machine && { machine: v.machine }),
      ...(v.language && { language: v.language }),
    });
  };
  return html`
    <h2>${say("stations.enrol")}</h2>
    <${Form}
      test="enrol-code"
      act=${say("stations.give")}
      go=${go}
      clear
      fields=${[
        nameField(),
        { name: "machine", label: say("head.machine"), options: machines },
        { name: "language", label: say("language"), options: languageOptions() },
      ]}
    />
    ${given.value &&
    html`<div class="given" role="status">
      <p>${say("stations.scan")}</p>
      <${QR} qr=${given.value.qr} link=${given.value.link} />
      <p>${say("stations.type", me.value?.entry_url || location.origin)}</p>
      <p class="code" data-test="enrol-code-given">${given.value.code}</p>
      <p class="soft">${say("stations.minutes", given.value.minutes)}</p>
    </div>`}
  `;
}

/**
 * QR draws a symbol; it is black on white in the dark theme too, for readers.
 * @param {{qr: Schema["Symbol"], link: string}} props
 */
function QR({ qr, link }) {
  return html`<svg
    class="qr"
    viewBox=${`0 0 ${qr.side} ${qr.side}`}
    role="img"
    aria-label=${say("stations.qr")}
    data-test="enrol-qr"
    data-link=${link}
    shape-rendering="crispEdges">
    <rect width=${qr.side} height=${qr.side} fill="#fff" />
    <path d=${qr.path} fill="#000" />
  </svg>`;
}

/** @param {Pass} x */
const address = (x) => `/api/v1/stations/${encodeURIComponent(x.id)}`;

/**
 * Name is the name of a station, and the field to give it another.
 * @param {{x: Pass, after: () => void}} props
 */
function Name({ x, after }) {
  const typed = useSignal(/** @type {string | null} */ (null));
  const save = (/** @type {Event} */ e) => {
    e.preventDefault();
    patch(address(x), { name: /** @type {string} */ (typed.value).trim() })
      .then(() => {
        typed.value = null;
        after();
      })
      .catch(failed);
  };
  if (typed.value === null)
    return html`
      <b>${x.name}</b> ${x.device && html`<small>${x.device}</small>`}${" "}
      <button class="quiet" data-test="rename" onClick=${() => (typed.value = x.name)}>
        ${say("stations.rename")}
      </button>
    `;
  return html`<form class="rename" onSubmit=${save}>
    <input
      data-test="rename-name"
      required
      maxlength="60"
      aria-label=${say("stations.name")}
      value=${typed.value}
      onInput=${(/** @type {Input} */ e) => {
        typed.value = e.target.value;
      }}
    />
    <button type="submit" data-test="rename-go">${say("stations.rename")}</button>
  </form>`;
}

/** @param {{list: Pass[], after: () => void}} props */
function List({ list, after }) {
  const cut = (/** @type {Pass} */ x) =>
    del(address(x))
      .then(() => {
        note("good", say("stations.cut.done", x.name));
        after();
      })
      .catch(failed);
  const rows = list.map(
    (x) => html`<tr key=${x.id} data-test="stations-row" data-name=${x.name}>
      <td data-label=${say("stations.name")}><${Name} x=${x} after=${after} /></td>
      <td data-label=${say("head.machine")}>
        ${x.machine || say("stations.later")} <small>${machineName(x.machine || "")}</small>
      </td>
      <td data-label=${say("head.since")}>
        <${At} t=${x.made} /> ${x.by && html`<small>${say("by", x.by)}</small>`}
      </td>
      <td><button data-test="cut" onClick=${() => cut(x)}>${say("stations.cut")}</button></td>
    </tr>`,
  );
  return html`<${Listed}
    rows=${rows}
    heads=${["stations.name", "head.machine", "head.since"]}
    none=${say("stations.none")}
  />`;
}

function StationsPage() {
  const all = useSignal(/** @type {Schema["Stations"] | null} */ (null));
  const load = () =>
    get("/api/v1/stations")
      .then((a) => {
        all.value = a;
      })
      .catch(failed);
  useEffect(() => {
    loadShop().then(load, failed);
    const t = setInterval(load, 5000);
    return () => clearInterval(t);
  }, []);
  if (!all.value || !shop.value)
    return html`<h1>${say("stations.title")}</h1><p class="soft">${say("loading")}</p>`;
  return html`
    <h1>${say("stations.title")}</h1>
    <section><${List} list=${all.value.stations} after=${load} /><${Enrol} /></section>
    <section>
      <h1>${say("screens.title")}</h1>
      <${ScreenList} list=${all.value.screens} after=${load} />
      <${Screen} after=${load} />
    </section>
  `;
}

start(() => (me.value ? html`<${StationsPage} />` : null));
