// What is selected on the plan, to be changed by typing, and the picture of the hall.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { Problem } from "../../lib/api.js";
import { entry, tidy, typed } from "../../lib/numbers.js";
import { failed, note } from "../../lib/shell.js";
import { say } from "../../lib/words.js";
import { change, draft, opacity, selected, setOpacity } from "./plan-draft.js";
import {
  addCorner,
  join,
  keyOf,
  move,
  nodes,
  points,
  remove,
  rename,
  scaled,
  setLength,
  split,
  straight,
  tool,
} from "./plan-edit.js";

// What is selected on the plan, to be changed by typing; and the way to select
// anything without a mouse.

const most = 100000; // metres

// Metres is a field for a length or a place; set gets the number.
function Metres({ name, value, set, min = -most, empty }) {
  const typed = (e) => {
    const n = e.target.value === "" && empty !== undefined ? empty : typed(e.target.value);
    if (n >= min && n <= most) set(n);
    else e.target.value = entry(value);
  };
  return html`<label>
    ${say("plan." + name)}
    <input
      type="text"
      inputmode="decimal"
      class="metres-field"
      data-test=${"plan-" + name}
      value=${entry(value)}
      onChange=${typed}
    />
  </label>`;
}

function Join({ id }) {
  const d = draft.value,
    to = useSignal("");
  const others = [...nodes(d).keys()]
    .filter(
      (n) =>
        n !== id && !d.aisles.some((a) => (a.from === id && a.to === n) || (a.to === id && a.from === n)),
    )
    .sort();
  const go = () => {
    if (to.value) change(join(d, id, to.value));
    to.value = "";
  };
  return html`<p class="deeds">
    <label>
      ${say("plan.join-with")}
      <select
        data-test="plan-join-with"
        onChange=${(e) => {
          to.value = e.target.value;
        }}>
        <option value="">${say("none")}</option>
        ${others.map((n) => html`<option key=${n} value=${n} selected=${n === to.value}>${n}</option>`)}
      </select>
    </label>
    <button data-test="plan-join" disabled=${!to.value} onClick=${go}>${say("plan.join")}</button>
  </p>`;
}

function Node({ kind, id }) {
  const d = draft.value,
    n = nodes(d).get(id);
  const gone = () => {
    change(remove(d, { kind, id }));
    selected.value = null;
  };
  const name = (e) => {
    const next = e.target.value.trim();
    if (next === id) return;
    if (!next || nodes(d).has(next)) {
      e.target.value = id;
      note("bad", say("plan.name-taken", next));
      return;
    }
    change(rename(d, id, next));
    selected.value = { kind, id: next };
  };
  return html`
    <h3>${kind === "place" ? `${id} ${n.name}` : say("plan.corner", id)}</h3>
    <p class="deeds">
      ${kind === "corner" &&
      html`<label>
        ${say("plan.name")}
        <input class="metres-field" data-test="plan-name" value=${id} onChange=${name} />
      </label>`}
      <${Metres} name="x" value=${n.x} set=${(x) => change(move(d, id, x, n.y))} />
      <${Metres} name="y" value=${n.y} set=${(y) => change(move(d, id, n.x, y))} />
    </p>
    <${Join} key=${id} id=${id} />
    ${kind === "corner" &&
    html`<button data-test="plan-remove" onClick=${gone}>${say("plan.remove-corner")}</button>`}
  `;
}

function Aisle({ id }) {
  const d = draft.value,
    a = d.aisles.find((z) => keyOf(z) === id),
    at = nodes(d),
    p = at.get(a.from),
    q = at.get(a.to);
  const gone = () => {
    change(remove(d, { kind: "aisle", id }));
    selected.value = null;
  };
  const halve = () => {
    const [next, corner] = split(d, id, (p.x + q.x) / 2, (p.y + q.y) / 2);
    change(next);
    selected.value = { kind: "corner", id: corner };
  };
  return html`
    <h3>${say("plan.aisle", a.from, a.to)}</h3>
    <p class="soft">${say("plan.straight", Math.round(straight(p, q) * 10) / 10)}</p>
    <p class="deeds">
      <${Metres}
        name="length"
        value=${a.metres || ""}
        min=${0}
        empty=${0}
        set=${(m) => change(setLength(d, id, m))}
      />
    </p>
    <p class="soft">${say("plan.length.why")}</p>
    <p class="deeds">
      <button data-test="plan-split" onClick=${halve}>${say("plan.split")}</button>
      <button data-test="plan-remove" onClick=${gone}>${say("plan.remove-aisle")}</button>
    </p>
  `;
}

// NewCorner puts a corner where its metres are typed.
function NewCorner() {
  const x = useSignal(0),
    y = useSignal(0);
  const go = () => {
    const [d, corner] = addCorner(draft.value, x.value, y.value);
    change(d);
    selected.value = { kind: "corner", id: corner };
  };
  return html`<p class="deeds">
    <${Metres}
      name="new-x"
      value=${x.value}
      set=${(n) => {
        x.value = n;
      }}
    />
    <${Metres}
      name="new-y"
      value=${y.value}
      set=${(n) => {
        y.value = n;
      }}
    />
    <button data-test="plan-add-corner" onClick=${go}>${say("plan.add-corner")}</button>
  </p>`;
}

function Picker() {
  const d = draft.value,
    value = selected.value ? selected.value.kind + "\t" + selected.value.id : "";
  const set = (e) => {
    const [kind, id] = e.target.value.split("\t");
    selected.value = kind ? { kind, id } : null;
  };
  const option = (kind, id, text) =>
    html`<option key=${kind + id} value=${kind + "\t" + id} selected=${value === kind + "\t" + id}>
      ${text}
    </option>`;
  return html`<label>
    ${say("plan.selected")}
    <select data-test="plan-selected" onChange=${set}>
      <option value="">${say("plan.nothing")}</option>
      <optgroup label=${say("plan.places")}>
        ${d.places.map((p) => option("place", p.machine, `${p.machine} ${p.name}`))}
      </optgroup>
      <optgroup label=${say("plan.corners")}>
        ${d.corners.map((c) => option("corner", c.corner, c.corner))}
      </optgroup>
      <optgroup label=${say("plan.aisles")}>
        ${d.aisles.map((a) => option("aisle", keyOf(a), `${a.from} – ${a.to}`))}
      </optgroup>
    </select>
  </label>`;
}

// there says whether what is selected is still on the plan: undo may have taken it.
const there = (d, s) =>
  s && (s.kind === "aisle" ? d.aisles.some((a) => keyOf(a) === s.id) : nodes(d).has(s.id));

export function Selected() {
  const s = there(draft.value, selected.value) ? selected.value : null;
  return html`<section data-test="plan-panel">
    <h2>${say("plan.selected-title")}</h2>
    <${Picker} />
    ${!s && html`<${NewCorner} />`}
    ${s && s.kind === "aisle" && html`<${Aisle} key=${s.id} id=${s.id} />`}
    ${s && s.kind !== "aisle" && html`<${Node} key=${s.kind + s.id} kind=${s.kind} id=${s.id} />`}
  </section>`;
}

// The picture of the hall under the plan: put there, moved, made fainter, and set to
// scale from a length that someone knows.

const maxBytes = 1000000; // bytes that the server takes
const sides = [2400, 1600, 1000]; // px a big picture is brought down to

// sizeOf is the form of a picture in px; one that does not say has none.
function sizeOf(url) {
  return new Promise((ok) => {
    const img = new Image();
    img.onload = () => ok({ w: img.naturalWidth, h: img.naturalHeight, img });
    img.onerror = () => ok(null);
    img.src = url;
  });
}

// small brings a photograph down to what the server takes.
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

// spread is the box that places and corners take, for a picture to begin with.
function spread(d) {
  const all = [...nodes(d).values()],
    xs = all.map((n) => n.x),
    ys = all.map((n) => n.y);
  if (all.length < 2) return { x: 0, y: 0, w: 50, h: 30 };
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return { x: x - 3, y: y - 3, w: Math.max(...xs) - x + 6, h: Math.max(...ys) - y + 6 };
}

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
          onInput=${(e) => {
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

function Under({ pic }) {
  const d = draft.value,
    set = (some) => change({ ...d, picture: { ...pic, ...some } });
  const r = (n) => Math.round(n * 100) / 100;
  return html`
    <p class="deeds">
      <${Metres} name="left-edge" value=${pic.x_m} set=${(n) => set({ x_m: n })} />
      <${Metres} name="top" value=${pic.y_m} set=${(n) => set({ y_m: n })} />
      <${Metres}
        name="width"
        value=${pic.width_m}
        min=${0.1}
        set=${(n) => set({ width_m: n, height_m: r((n * pic.height_m) / pic.width_m) })}
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
          onInput=${(e) => setOpacity(Number(e.target.value))}
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
  const chosen = async (e) => {
    const [file] = e.target.files;
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
