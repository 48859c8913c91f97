// The plan editor: where machines stand, and along which aisles batches are carried.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { failed, may, me, note, start } from "../../lib/shell.js";
import { dateText, moment } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { Canvas } from "./plan-canvas.js";
import {
  change,
  dirty,
  draft,
  askPlan,
  draftOf,
  forget,
  keepAlways,
  left,
  load,
  Next,
  on,
  Save,
  saved,
} from "./plan-draft.js";
import { points, tool } from "./plan-tools.js";
import { Selected } from "./plan-panel.js";
import { Picture, Scale } from "./plan-picture.js";
import { Walk, Warnings } from "./plan-walk.js";

/** @typedef {import("./plan-draft.js").Kept} Kept */

function Tools() {
  const pick = (/** @type {string} */ t) => () => {
    tool.value = t;
    points.value = [];
  };
  return html`<p class="deeds tool-row" role="group" aria-label=${say("plan.tools")}>
    ${["move", "draw", "picture", "scale"].map(
      (t) => html`<button
        key=${t}
        data-test=${"tool-" + t}
        aria-pressed=${String(tool.value === t)}
        class=${tool.value === t ? "act" : ""}
        disabled=${(t === "picture" || t === "scale") && !draft.value.picture}
        onClick=${pick(t)}>
        ${say("plan.tool." + t)}
      </button>`,
    )}
  </p>`;
}

/**
 * Left offers a drawing that was not saved when the page went.
 * @param {{old: Kept, close: () => void}} props
 */
function Left({ old, close }) {
  const take = () => {
    const here = new Map(saved.value.places.map((p) => [p.machine, p]));
    const moved = new Map(old.draft.places.map((p) => [p.machine, p]));
    change({
      ...old.draft,
      places: [...here.values()].map((p) => ({
        ...p,
        x: moved.get(p.machine)?.x ?? p.x,
        y: moved.get(p.machine)?.y ?? p.y,
      })),
    });
    close();
  };
  return html`<p class="hint-line" data-test="plan-left">
    ${say("plan.left", moment(old.at))}${" "}
    <button class="act" data-test="left-take" onClick=${take}>${say("plan.left-take")}</button>${" "}
    <button
      data-test="left-drop"
      onClick=${() => {
        forget();
        close();
      }}>
      ${say("plan.left-drop")}
    </button>
  </p>`;
}

/** @param {{old: Kept | null, next: import("../../lib/vendor/ui.js").Signal<string>}} props */
function Editor({ old, next }) {
  const offer = useSignal(old);
  useEffect(() => {
    const ask = (/** @type {BeforeUnloadEvent} */ e) => {
      if (dirty.value) e.preventDefault();
    };
    addEventListener("beforeunload", ask);
    return () => removeEventListener("beforeunload", ask);
  }, []);
  return html`
    <h1>${on ? say("plan.title-on", dateText(on)) : say("plan.title")}</h1>
    <${Next} next=${next.value} />
    ${offer.value &&
    html`<${Left}
      old=${offer.value}
      close=${() => {
        offer.value = null;
      }}
    />`}
    ${draft.value.places.length === 0 &&
    html`<p class="empty" data-test="no-places">${say("ground.no-places")}</p>`}
    <div class="ground">
      <div>
        <${Tools} />
        ${tool.value === "scale" && draft.value.picture && html`<${Scale} />`}
        <${Canvas} />
      </div>
      <aside><${Save} next=${next} /><${Selected} /><${Warnings} /><${Walk} /><${Picture} /></aside>
    </div>
  `;
}

function Page() {
  const next = useSignal(""),
    old = useSignal(/** @type {Kept | null} */ (null)),
    ready = useSignal(false);
  useEffect(() => {
    if (!may("plan")) return;
    askPlan().then((plan) => {
      const { draft: d, lost } = draftOf(plan),
        kept = left();
      if (lost > 0) note("plain", count("plan.lost", lost));
      load(d);
      if (kept && JSON.stringify(kept.draft) !== JSON.stringify(d)) old.value = kept;
      next.value = plan.next || "";
      keepAlways();
      ready.value = true;
    }, failed);
  }, []);
  if (!may("plan"))
    return html`
      <h1>${say("plan.title")}</h1>
      <p class="empty" data-test="plan-no">${say("plan.no")} <a href="/ground">${say("ground.title")}</a></p>
    `;
  if (!ready.value) return html`<h1>${say("plan.title")}</h1><p class="soft">${say("loading")}</p>`;
  return html`<${Editor} old=${old.value} next=${next} />`;
}

start(() => (me.value ? html`<${Page} />` : null));
