// The picture of the hall under the plan: put there, moved, made fainter, and set to
// scale from a length that someone knows.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { Problem } from "../../lib/api.js";
import { tidy } from "../../lib/numbers.js";
import { failed } from "../../lib/shell.js";
import { say } from "../../lib/words.js";
import { change, draft, opacity, setOpacity } from "./plan-draft.js";
import { nodes, scaled, straight } from "./plan-edit.js";
import { points, tool } from "./plan-tools.js";
import { Metres } from "./plan-panel.js";

/**
 * @typedef {import("./plan-draft.js").Draft} Draft
 * @typedef {import("./plan-draft.js").Picture} Pic
 * @typedef {import("../../lib/_types.js").Input} Input
 */

const maxBytes = 1000000; // bytes that the server takes
const sides = [2400, 1600, 1000]; // px a big picture is brought down to

/**
 * sizeOf is the form of a picture in px; one that does not say has none.
 * @param {string} url
 * @returns {Promise<{w: number, h: number} | null>}
 */
function sizeOf(url) {
  return new Promise((ok) => {
    const img = new Image();
    img.onload = () => ok({ w: img.naturalWidth, h: img.naturalHeight });
    img.onerror = () => ok(null);
    img.src = url;
  });
}

/**
 * small brings a photograph down to what the server takes.
 * @param {File} file
 */
async function small(file) {
  if (file.size <= maxBytes || file.type === "image/svg+xml") return file;
  const bitmap = await createImageBitmap(file);
  for (const side of sides) {
    const f = Math.min(1, side / Math.max(bitmap.width, bitmap.height)),
      c = document.createElement("canvas");
    [c.width, c.height] = [Math.round(bitmap.width * f), Math.round(bitmap.height * f)];
    c.getContext("2d")?.drawImage(bitmap, 0, 0, c.width, c.height);
    const blob = await new Promise((ok) => {
      c.toBlob(ok, "image/jpeg", 0.8);
    });
    if (blob && blob.size <= maxBytes) return blob;
  }
  return file;
}

/**
 * @param {Blob} file
 * @returns {Promise<import("../../lib/_types.js").Schema["KeptPicture"]>}
 */
async function send(file) {
  const answer = await fetch("/api/v1/ground/pictures", {
    method: "POST",
    credentials: "same-origin",
    headers: { "Content-Type": file.type || "image/png" },
    body: file,
  }).catch(() => null);
  if (!answer) throw new Problem(0, say("net.down"));
  if (answer.status === 413) throw new Problem(413, say("plan.too-big"));
  const said = await answer.json().catch(() => null);
  if (!answer.ok) throw new Problem(answer.status, (said && said.detail) || say("net.odd", answer.status));
  return said;
}

/**
 * spread is the box that places and corners take, for a picture to begin with.
 * @param {Draft} d
 */
function spread(d) {
  const all = [...nodes(d).values()],
    xs = all.map((n) => n.x),
    ys = all.map((n) => n.y);
  if (all.length < 2) return { x: 0, y: 0, w: 50, h: 30 };
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return { x: x - 3, y: y - 3, w: Math.max(...xs) - x + 6, h: Math.max(...ys) - y + 6 };
}

/** @param {File} file */
async function put(file) {
  const ready = await small(file),
    kept = await send(ready);
  const seen = await sizeOf("/api/v1/ground/pictures/" + kept.ref);
  const form =
    kept.width_px > 0 ? kept.height_px / kept.width_px : seen && seen.w > 0 ? seen.h / seen.w : 0.75;
  const box = spread(draft.value),
    width = Math.round(Math.max(box.w, box.h / form) * 100) / 100;
  change({
    ...draft.value,
    picture: {
      ref: kept.ref,
      x_m: box.x,
      y_m: box.y,
      width_m: width,
      height_m: Math.round(width * form * 100) / 100,
    },
  });
  tool.value = "picture";
}

// Scale asks for the two points and the metres between them.
export function Scale() {
  const metres = useSignal("");
  const n = Number(metres.value.replace(",", ".")),
    two = points.value.length === 2,
    [p, q] = points.value;
  const go = () => {
    change(scaled(draft.value, p, q, n));
    points.value = [];
    metres.value = "";
    tool.value = "move";
  };
  return html`<div class="hint-line">
    <p data-test="scale-help">
      ${say("plan.scale." + Math.min(2, points.value.length))}${" "}
      ${two ? say("plan.scale.now", tidy(straight(p, q))) : ""}
    </p>
    ${two &&
    html`<p class="deeds">
      <label>
        ${say("plan.scale.metres")}
        <input
          class="metres-field"
          inputmode="decimal"
          data-test="scale-metres"
          value=${metres.value}
          onInput=${(/** @type {Input} */ e) => {
            metres.value = e.target.value;
          }}
        />
      </label>
      <button
        class="act"
        data-test="scale-go"
        disabled=${!(n > 0 && n < 10000 && straight(p, q) > 0)}
        onClick=${go}>
        ${say("plan.scale.do")}
      </button>
    </p>`}
  </div>`;
}

/** @param {{pic: Pic}} props */
function Under({ pic }) {
  const d = draft.value,
    set = (/** @type {Partial<Pic>} */ some) => change({ ...d, picture: { ...pic, ...some } });
  const r = (/** @type {number} */ n) => Math.round(n * 100) / 100;
  return html`
    <p class="deeds">
      <${Metres} name="left-edge" value=${pic.x_m} set=${(/** @type {number} */ n) => set({ x_m: n })} />
      <${Metres} name="top" value=${pic.y_m} set=${(/** @type {number} */ n) => set({ y_m: n })} />
      <${Metres}
        name="width"
        value=${pic.width_m}
        min=${0.1}
        set=${(/** @type {number} */ n) => set({ width_m: n, height_m: r((n * pic.height_m) / pic.width_m) })}
      />
    </p>
    <p class="deeds">
      <label>
        ${say("plan.opacity")}
        <input
          type="range"
          min="0.05"
          max="1"
          step="0.05"
          data-test="plan-opacity"
          value=${opacity.value}
          onInput=${(/** @type {Input} */ e) => setOpacity(Number(e.target.value))}
        />
      </label>
      <button
        data-test="picture-remove"
        onClick=${() => {
          change({ ...d, picture: null });
          tool.value = "move";
        }}>
        ${say("plan.picture-remove")}
      </button>
    </p>
  `;
}

export function Picture() {
  const busy = useSignal(false),
    pic = draft.value.picture;
  const chosen = async (/** @type {Input} */ e) => {
    const file = e.target.files?.[0];
    e.target.value = "";
    if (!file) return;
    busy.value = true;
    try {
      await put(file);
    } catch (err) {
      failed(err);
    } finally {
      busy.value = false;
    }
  };
  return html`<section>
    <h2>${say("plan.picture")}</h2>
    <label>
      ${say("plan.upload")}
      <input
        type="file"
        accept="image/png,image/jpeg,image/svg+xml"
        data-test="picture-file"
        disabled=${busy.value}
        onChange=${chosen}
      />
    </label>
    ${pic && html`<${Under} pic=${pic} />`}
  </section>`;
}
