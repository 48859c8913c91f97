// What is selected on the plan, to be changed by typing; and the way to select anything
// without a mouse.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { entry, typed } from "../../lib/numbers.js";
import { note } from "../../lib/shell.js";
import { say } from "../../lib/words.js";
import { change, draft, selected } from "./plan-draft.js";
import {
  addCorner,
  aisleOf,
  endsOf,
  join,
  keyOf,
  move,
  nodes,
  pointOf,
  remove,
  rename,
  setLength,
  split,
  straight,
} from "./plan-edit.js";

/**
 * @typedef {import("./plan-draft.js").Draft} Draft
 * @typedef {import("./plan-draft.js").Chosen} Chosen
 * @typedef {import("../../lib/_types.js").Input} Input
 */

const most = 100000; // metres

/**
 * Metres is a field for a length or a place; set gets the number.
 * @param {{name: string, value: number | "", set: (n: number) => void, min?: number, empty?: number}} props
 */
export function Metres({ name, value, set, min = -most, empty }) {
  const put = (/** @type {Input} */ e) => {
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
      onChange=${put}
    />
  </label>`;
}

/** @param {{id: string}} props */
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
        onChange=${(/** @type {Input} */ e) => {
          to.value = e.target.value;
        }}>
        <option value="">${say("none")}</option>
        ${others.map((n) => html`<option key=${n} value=${n} selected=${n === to.value}>${n}</option>`)}
      </select>
    </label>
    <button data-test="plan-join" disabled=${!to.value} onClick=${go}>${say("plan.join")}</button>
  </p>`;
}

/** @param {{kind: "place" | "corner", id: string}} props */
function Node({ kind, id }) {
  const d = draft.value,
    n = pointOf(d, id);
  const gone = () => {
    change(remove(d, { kind, id }));
    selected.value = null;
  };
  /** @param {Input} e */
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
      <${Metres} name="x" value=${n.x} set=${(/** @type {number} */ x) => change(move(d, id, x, n.y))} />
      <${Metres} name="y" value=${n.y} set=${(/** @type {number} */ y) => change(move(d, id, n.x, y))} />
    </p>
    <${Join} key=${id} id=${id} />
    ${kind === "corner" &&
    html`<button data-test="plan-remove" onClick=${gone}>${say("plan.remove-corner")}</button>`}
  `;
}

/** @param {{id: string}} props */
function Aisle({ id }) {
  const d = draft.value,
    a = aisleOf(d, id),
    [p, q] = endsOf(nodes(d), a);
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
        set=${(/** @type {number} */ m) => change(setLength(d, id, m))}
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
      set=${(/** @type {number} */ n) => {
        x.value = n;
      }}
    />
    <${Metres}
      name="new-y"
      value=${y.value}
      set=${(/** @type {number} */ n) => {
        y.value = n;
      }}
    />
    <button data-test="plan-add-corner" onClick=${go}>${say("plan.add-corner")}</button>
  </p>`;
}

function Picker() {
  const d = draft.value,
    value = selected.value ? selected.value.kind + "\t" + selected.value.id : "";
  /** @param {Input} e */
  const set = (e) => {
    const [kind, id] = /** @type {[Chosen["kind"] | "", string]} */ (e.target.value.split("\t"));
    selected.value = kind ? { kind, id } : null;
  };
  /** @type {(kind: Chosen["kind"], id: string, text: string) => unknown} */
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

/**
 * there says whether what is selected is still on the plan: undo may have taken it.
 * @type {(d: Draft, s: Chosen | null) => boolean}
 */
const there = (d, s) =>
  s !== null && (s.kind === "aisle" ? d.aisles.some((a) => keyOf(a) === s.id) : nodes(d).has(s.id));

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
