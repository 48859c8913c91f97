// Routes of a part side by side: would making it complete in one set-up pay,
// from what batch size on, and how sure is that?
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { useAnswer } from "../../lib/form.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { say } from "../../lib/words.js";
import { Combine, emptyCombine } from "./combine.js";
import { Curve } from "./curve.js";
import { Figures } from "./figures.js";
import { Form, partsList, revsOf } from "./form.js";
import { Assumptions, Centres, Clamping, Strips } from "./more.js";
import { address, body, change, changeRoute, choosePart, state } from "./state.js";
import { Release, Steps } from "./steps.js";
import { Answer, fetchFile, Notes, percent, Tabs } from "./text.js";

/**
 * @typedef {import("./state.js").Comparison} Comparison
 * @typedef {import("./state.js").RouteAsk} RouteAsk
 */

// begin fills an address that does not say what to compare: the part with the
// most routes.
async function begin() {
  await loadShop();
  const s = state.value;
  if (s.part && s.routes.length && s.size > 0) {
    history.replaceState(null, "", address(s));
    return;
  }
  const parts = partsList()
    .map(([p]) => p)
    .sort((a, b) => revsOf(b).length - revsOf(a).length);
  const part = s.part || parts[0];
  if (part) await choosePart(part, revsOf(part), { replace: true });
}

function Downloads() {
  const busy = useSignal(""),
    name = say("compare.file", state.value.part.replace(/[^\w.-]+/g, "-"));
  const get = (/** @type {string} */ kind, /** @type {string} */ ext) => () =>
    fetchFile("/api/v1/compare/" + kind, body(state.value), `${name}.${ext}`, busy);
  return html`<p class="deeds downloads">
    <button disabled=${busy.value !== ""} data-test="pdf" onClick=${get("page.pdf", "pdf")}>
      ${say("compare.pdf")}
    </button>
    <button disabled=${busy.value !== ""} data-test="xlsx" onClick=${get("sheet.xlsx", "xlsx")}>
      ${say("compare.xlsx")}
    </button>
  </p>`;
}

/**
 * Editor is the form of combining: of a new proposal, or of the one at i.
 * @param {{at: number, v: Comparison | null, close: () => void}} props
 */
function Editor({ at, v, close }) {
  const s = state.value,
    c = v && v.clamping,
    rev = s.routes.find((r) => !r.combine)?.route_rev || s.routes[0].route_rev;
  const begin =
    at >= 0
      ? s.routes[at]
      : { route_rev: rev, name: say("combine.name.default"), combine: emptyCombine(s.part, rev) };
  const done = (/** @type {RouteAsk} */ ask) => {
    if (at >= 0) changeRoute(at, ask);
    else change({ routes: [...s.routes, ask] });
    close();
  };
  return html`<${Combine}
    part=${s.part}
    revs=${revsOf(s.part)}
    begin=${begin}
    clamping=${c && c.known}
    loss=${c && c.known ? percent(c.loss.likely) : ""}
    done=${done}
    close=${close}
  />`;
}

function Page() {
  const editing = useSignal(/** @type {number | null} */ (null)),
    s = state.value,
    { value: v, problem } = useAnswer(s.part && s.routes.length > 0 && "/api/v1/compare", body(s)),
    busy = useSignal(true);
  useEffect(() => {
    begin()
      .catch(failed)
      .finally(() => {
        busy.value = false;
      });
  }, []);
  const head = html`
    <div class="top"><h1>${say("compare.title")}</h1>${v && html`<${Downloads} />`}</div>
    <${Tabs} part=${state.value.part} />
  `;
  if (!shop.value || busy.value) return html`${head}<p class="soft">${say("loading")}</p>`;
  if (!state.value.part) return html`${head}<p class="empty">${say("compare.no-parts")}</p>`;
  // A proposal whose part is being changed waits for its answer.
  const mine = v && v.part === state.value.part && v.routes.length === state.value.routes.length;
  return html`
    ${head}
    <${Form}
      edit=${(/** @type {number} */ i) => {
        editing.value = i;
      }}
      answer=${mine ? v : null}
    />
    ${editing.value !== null &&
    html`<${Editor}
      key=${editing.value}
      at=${editing.value}
      v=${v}
      close=${() => {
        editing.value = null;
      }}
    />`}
    ${problem && html`<p class="problem" role="alert" data-test="failed">${problem}</p>`}
    ${!mine
      ? html`<p class="soft">${say("loading")}</p>`
      : html`
          <${Answer} v=${v} />
          <${Figures} v=${v} />
          <${Curve} v=${v} />
          <${Strips} v=${v} />
          <${Centres} v=${v} />
          <${Steps} v=${v} extra=${(/** @type {number} */ i) => html`<${Release} i=${i} />`} />
          <${Assumptions} v=${v} />
          <${Clamping} v=${v} />
          <${Notes} v=${v} />
        `}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
