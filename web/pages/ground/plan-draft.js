// A plan that is being drawn: the draft with its steps back, saving it, and how
// strongly the picture of the hall shows.
import { computed, effect, html, signal, useSignal } from "../../lib/vendor/ui.js";
import { get, post } from "../../lib/api.js";
import { now } from "../../lib/clock.js";
import { note } from "../../lib/shell.js";
import { dateText, dayOf } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Plan"]} Plan
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {{x: number, y: number}} XY
 * @typedef {XY & {machine: string, name: string, centre: string}} Spot
 * @typedef {XY & {corner: string}} Corner
 * @typedef {{from: string, to: string, metres: number}} Aisle metres 0 is a straight one
 * @typedef {Required<import("../../lib/_types.js").Schema["Picture"]>} Picture
 * @typedef {{places: Spot[], corners: Corner[], aisles: Aisle[], picture: Picture | null}} Draft
 * @typedef {{kind: "place" | "corner" | "aisle", id: string}} Chosen
 * @typedef {{at: number, draft: Draft}} Kept
 */

// How strongly the picture of the hall shows under the plan: a matter of taste and
// of the screen, so each browser keeps its own.

const opacityKey = "tw.hall";
const read = () => {
  const n = Number(localStorage.getItem(opacityKey) ?? NaN);
  return n >= 0 && n <= 1 && localStorage.getItem(opacityKey) !== null ? n : 0.35;
};

export const opacity = signal(read());

/** @param {number} n */
export function setOpacity(n) {
  opacity.value = n;
  localStorage.setItem(opacityKey, String(n));
}

// The plan that is being drawn: what was changed, back and forth, and what of it is
// not saved yet. Each browser keeps an unsaved drawing, so that nothing is lost when
// saving fails or the page goes. A draft is {places: [{machine, name, x, y}],
// corners: [{corner, x, y}], aisles: [{from, to, metres}], picture}; metres 0 is a
// straight aisle. Drafts are never changed, only replaced.

const kept = "tw.plan.draft",
  most = 200; // steps back

/** @type {Draft} */
const nothing = { places: [], corners: [], aisles: [], picture: null };

export const draft = signal(nothing);
export const saved = signal(nothing); // as the server has it
export const selected = signal(/** @type {Chosen | null} */ (null));
const back = signal(/** @type {Draft[]} */ ([])),
  forth = signal(/** @type {Draft[]} */ ([]));
let tag = "";

const canUndo = computed(() => back.value.length > 0);
const canRedo = computed(() => forth.value.length > 0);
export const dirty = computed(() => JSON.stringify(draft.value) !== JSON.stringify(saved.value));

/** @param {number} n */
const round = (n) => Math.round(n * 100) / 100;

/**
 * draftOf reads the server's plan. Aisles whose ends are not there any more are
 * left out; lost says how many.
 * @param {Plan} plan
 * @returns {{draft: Draft, lost: number}}
 */
export function draftOf(plan) {
  const places = (plan.places || []).map((m) => ({
    machine: m.machine,
    name: m.name,
    centre: m.work_centre,
    x: m.x_m,
    y: m.y_m,
  }));
  const corners = plan.corners.map((c) => ({ corner: c.corner, x: c.x_m, y: c.y_m }));
  const names = new Set([...places.map((p) => p.machine), ...corners.map((c) => c.corner)]);
  const aisles = plan.aisles
    .filter((a) => names.has(a.from) && names.has(a.to))
    .map((a) => ({ from: a.from, to: a.to, metres: a.metres || 0 }));
  return {
    draft: { places, corners, aisles, picture: /** @type {Picture | null} */ (plan.picture) },
    lost: plan.aisles.length - aisles.length,
  };
}

/**
 * bodyOf is what the server is sent: all aisles, and the places that were moved.
 * @param {Draft} d
 * @param {string} from
 */
function bodyOf(d, from) {
  const was = new Map(saved.value.places.map((p) => [p.machine, p]));
  const moved = d.places.filter((p) => {
    const old = was.get(p.machine);
    return !old || old.x !== p.x || old.y !== p.y;
  });
  return {
    ...(from ? { from } : {}),
    picture: d.picture,
    corners: d.corners.map((c) => ({ corner: c.corner, x_m: round(c.x), y_m: round(c.y) })),
    aisles: d.aisles.map((a) => ({
      from: a.from,
      to: a.to,
      ...(a.metres > 0 ? { metres: round(a.metres) } : {}),
    })),
    places: moved.map((p) => ({ machine: p.machine, x_m: round(p.x), y_m: round(p.y) })),
  };
}

/**
 * load begins with what the server has.
 * @param {Draft} d
 */
export function load(d) {
  saved.value = draft.value = d;
  [back.value, forth.value, selected.value, tag] = [[], [], null, ""];
}

/**
 * change takes a step. Steps with the same mark, one after the other, count as one:
 * a thing that is moved by many presses of a key.
 * @param {Draft} next
 * @param {string} [mark]
 */
export function change(next, mark = "") {
  if (next === draft.value) return;
  if (!mark || mark !== tag) back.value = [...back.value.slice(-most), draft.value];
  tag = mark;
  forth.value = [];
  draft.value = next;
}

/**
 * show lets something be seen while it is dragged, settle makes it one step.
 * @param {Draft} next
 */
export const show = (next) => {
  draft.value = next;
};
/** @param {Draft} before */
export function settle(before) {
  const after = draft.value;
  draft.value = before;
  change(after);
}

/**
 * @param {{value: Draft[]}} from
 * @param {{value: Draft[]}} to
 */
function step(from, to) {
  const next = from.value.at(-1);
  if (!next) return;
  to.value = [...to.value, draft.value];
  draft.value = next;
  from.value = from.value.slice(0, -1);
  tag = "";
}

export const undo = () => step(back, forth);
export const redo = () => step(forth, back);

/**
 * left is the unsaved drawing that this browser kept: {at, draft}; null if none.
 * @returns {Kept | null}
 */
export function left() {
  try {
    const k = JSON.parse(localStorage.getItem(kept) ?? "null");
    return k && k.draft && k.draft.corners && k.draft.aisles && k.draft.places ? k : null;
  } catch {
    return null;
  }
}

export const forget = () => localStorage.removeItem(kept);

// keepAlways keeps the drawing in this browser whenever it changes.
export function keepAlways() {
  effect(() => {
    if (!dirty.value) return;
    try {
      localStorage.setItem(kept, JSON.stringify({ at: now(), draft: draft.value }));
    } catch {
      /* no room: the page still asks before it goes */
    }
  });
}

// Saving the plan: from which date it holds, and what became of it. Whatever goes
// wrong, the drawing stays.

// on is the date whose plan is being drawn; empty is today.
export const on = new URLSearchParams(location.search).get("on") || "";

/** @param {import("../../lib/api.js").Options} [options] */
export const askPlan = (options) =>
  get(on ? `/api/v1/ground/plan?on=${encodeURIComponent(on)}` : "/api/v1/ground/plan", options);

/**
 * next is when a plan that was made ahead comes to hold.
 * @param {{next: string}} props
 */
export function Next({ next }) {
  if (!next) return null;
  const day = dayOf(next);
  return html`<p class="hint-line" data-test="plan-next">
    ${say("plan.next", dateText(day))} <a href=${"/ground/plan?on=" + day}>${say("plan.next-open")}</a>
  </p>`;
}

// elsewhere reports whether someone else saved a plan since this one was opened.
async function elsewhere() {
  const now = draftOf(await askPlan({ stay: true })).draft;
  return JSON.stringify(now) !== JSON.stringify(saved.value);
}

/** @param {{next: {value: string}}} props */
export function Save({ next }) {
  const from = useSignal(on),
    busy = useSignal(false),
    problem = useSignal(""),
    over = useSignal(false);
  const go = async () => {
    busy.value = true;
    problem.value = "";
    const sent = draft.value;
    try {
      if (!over.value && (await elsewhere())) {
        over.value = true;
        problem.value = say("plan.elsewhere");
        return;
      }
      const plan = await post("/api/v1/ground/plan", bodyOf(sent, from.value), { stay: true });
      if (draft.value === sent) load(draftOf(plan).draft);
      else saved.value = draftOf(plan).draft;
      forget();
      over.value = false;
      next.value = plan.next || "";
      note("good", from.value ? say("plan.saved-from", dateText(from.value)) : say("plan.saved"));
    } catch (err) {
      problem.value = /** @type {Error} */ (err).message + " " + say("plan.kept");
    } finally {
      busy.value = false;
    }
  };
  return html`<section class="save" data-test="plan-save-box" data-dirty=${String(dirty.value)}>
    <p class="deeds">
      <button data-test="plan-undo" disabled=${!canUndo.value} onClick=${undo}>${say("plan.undo")}</button>
      <button data-test="plan-redo" disabled=${!canRedo.value} onClick=${redo}>${say("plan.redo")}</button>
    </p>
    <p class="deeds">
      <label>
        ${say("plan.from")}
        <input
          type="date"
          data-test="plan-from"
          value=${from.value}
          onChange=${(/** @type {Input} */ e) => {
            from.value = e.target.value;
          }}
        />
      </label>
      <button class="act" data-test="plan-save" disabled=${busy.value || !dirty.value} onClick=${go}>
        ${over.value ? say("plan.save-over") : say("plan.save")}
      </button>
    </p>
    <p class="soft">
      ${from.value
        ? from.value < dayOf(now())
          ? say("plan.from.past")
          : say("plan.from.later", dateText(from.value))
        : say("plan.from.now")}
    </p>
    ${dirty.value && html`<p class="soft" data-test="plan-dirty">${say("plan.dirty")}</p>`}
    ${problem.value && html`<p class="problem" role="alert" data-test="problem">${problem.value}</p>`}
  </section>`;
}
