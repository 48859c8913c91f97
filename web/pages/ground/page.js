// The ground as a page to work with: whose walks, the map, and beside it the
// figures, the key, what was opened, and the table.
import { html, useComputed, useEffect, useMemo, useSignal } from "../../lib/vendor/ui.js";
import { boards, LinkState } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { Mark } from "../../lib/marks.js";
import { may } from "../../lib/shell.js";
import { WallSettings } from "../../lib/wall-settings.js";
import { count, say } from "../../lib/words.js";
import { Figures, Key } from "./figures.js";
import { Legs, Passing, Trips } from "./legs.js";
import { Aisles, Hall, Places, Walks } from "./map.js";
import { PlaceDetails } from "./place.js";
import { opacity } from "./plan-draft.js";
import { gestures, keyed, useView, ViewButtons } from "./view.js";
import { Choice, choice, choose, places, sets, stretches } from "./walks.js";

const { about } = boards.ground;

/**
 * @typedef {import("./walks.js").Board} Board
 * @typedef {import("./walks.js").SetLeg} SetLeg
 * @typedef {import("./view.js").Point} Point
 * @typedef {import("./map.js").Plan} Plan
 * @typedef {{leg?: SetLeg, stretch?: string}} Opened one of both or nothing
 */

/**
 * padFor is the room around the whole, for labels, in px.
 * @type {(w: number) => import("./view.js").Pad}
 */
const padFor = (w) => (w < 600 ? { x: 34, y: 60 } : { x: 120, y: 76 });

/** @type {(p: {x_m: number, y_m: number}) => Point} */
const pointOf = (p) => [p.x_m, p.y_m];

/**
 * pointsOf is all that a map must show.
 * @type {(list: {x_m: number, y_m: number}[], plan: Pick<Plan, "corners">) => Point[]}
 */
export const pointsOf = (list, plan) => [...list.map(pointOf), ...(plan.corners || []).map(pointOf)];

function Summary() {
  if (!about.value) return null;
  const { totals: t, unplaced } = about.value;
  const said = [count("waits.batches", t.waits), count("waits.worked", t.works)];
  if (t.away) said.push(count("waits.away", t.away));
  return html`<p class="summary" data-test="summary">
    ${said.join(" · ")} ${t.late > 0 && html`<${Mark} kind="late">${count("waits.late", t.late)}<//>`}${" "}
    ${t.held > 0 && html`<${Mark} kind="held">${count("waits.held", t.held)}<//>`}
    ${unplaced > 0 &&
    html` <span class="soft plain" data-test="unplaced">${count("ground.unplaced", unplaced)}</span>`}
  </p>`;
}

/**
 * WhatToDo says what is missing before the map can say much.
 * @param {{plan: Plan, none: boolean}} props
 */
function WhatToDo({ plan, none }) {
  const draw = may("plan") ? html` <a href="/ground/plan">${say("ground.draw")}</a>` : "";
  if (places.value.length === 0)
    return html`<p class="empty" data-test="no-places">${say("ground.no-places")}</p>`;
  return html`
    ${(plan.aisles || []).length === 0 &&
    html`<p class="hint-line" data-test="no-aisles">${say("ground.no-aisles")}${draw}</p>`}
    ${none &&
    html`<p class="hint-line" data-test="no-walks">${say("ground.no-walks." + choice.value.walks)}</p>`}
  `;
}

/**
 * heightFor is how high the map is, for a plan of this form in a box of this width.
 * @param {Point[]} points
 * @param {number} w
 */
function heightFor(points, w) {
  const most = Math.max(360, innerHeight - (w < 700 ? 200 : 130));
  if (w === 0 || points.length === 0) return most;
  const spread = (/** @type {number} */ i) =>
    Math.max(1, Math.max(...points.map((p) => p[i])) - Math.min(...points.map((p) => p[i])));
  const p = padFor(w);
  return Math.min(most, Math.max(360, (spread(1) * (w - 2 * p.x)) / spread(0) + 2 * p.y));
}

/** @param {{opened: Opened, open: (target: Element) => void, plan: Plan}} props */
function Map({ opened, open, plan }) {
  const list = places.value,
    points = pointsOf(list, plan),
    at = useView(points, padFor);
  const minute = useComputed(() => Math.floor(tick.value / 30000));
  const walks = useMemo(() => stretches(sets.value), [sets.value]);
  useEffect(() => {
    if (!at.ref.current) return undefined;
    return gestures(at.ref.current, { view: at.view, tap: (_, target) => open(target) });
  }, [at.ref.current]);
  const lit = opened.leg ? new Set([opened.leg.leg.key]) : null;
  /** @param {KeyboardEvent & {target: Element}} e */
  const key = (e) => {
    if ((e.key === "Enter" || e.key === " ") && e.target.closest("[data-place]")) {
      e.preventDefault();
      open(e.target);
    } else keyed(e, at.view, at.size.value, at.whole);
  };
  const v = at.view.value;
  return html`<div class="map-frame">
    <div
      class=${v && v.whole ? "map" : "map moved"}
      ref=${at.ref}
      style=${{ height: heightFor(points, at.size.value.w) + "px" }}
      data-test="map"
      role="group"
      tabindex="0"
      aria-label=${say("ground.map")}
      onKeyDown=${key}>
      ${v &&
      html`<svg width=${at.size.value.w} height=${at.size.value.h} role="group">
        <${Hall} picture=${plan.picture} v=${v} opacity=${opacity.value} />
        <${Aisles} plan=${plan} places=${list} v=${v} />
        <${Walks} list=${walks} two=${sets.value.length > 1} v=${v} lit=${lit} widest=${10} />
        <${Places}
          places=${list}
          list=${walks}
          v=${v}
          box=${at.size.value}
          open=${choice.value.place}
          minute=${minute.value}
        />
      </svg>`}
    </div>
    <${ViewButtons} ...${at} />
  </div>`;
}

export function GroundPage() {
  const opened = useSignal(/** @type {Opened} */ ({}));
  const plan = about.value?.plan;
  const none = useMemo(() => sets.value.every((l) => l.length === 0), [sets.value]);
  if (!plan)
    return html`<h1>${say("ground.title")}</h1><${LinkState} /><p class="soft">${say("loading")}</p>`;
  /** @param {Element} target */
  const open = (target) => {
    const p = /** @type {SVGElement | null} */ (target.closest("[data-place]")),
      s = /** @type {SVGElement | null} */ (target.closest("[data-stretch]"));
    opened.value = s && !p ? { stretch: s.dataset.stretch } : {};
    choose({ place: p?.dataset.place ?? "" });
  };
  const leg = (/** @type {SetLeg} */ x) => {
    opened.value = { leg: x };
    choose({ place: "" });
  };
  const close = () => {
    opened.value = {};
    choose({ place: "" });
  };
  const shown = choice.value.place && places.value.find((p) => p.machine === choice.value.place);
  const stretch = opened.value.stretch && stretches(sets.value).find((s) => s.key === opened.value.stretch);
  return html`
    <div class="top"><h1>${say("ground.title")}</h1><${LinkState} /></div>
    <${Summary} />
    <div class="ground-tools">
      <${Choice} />
      <p class="deeds">
        ${may("plan") &&
        html`<a class="button" href="/ground/plan" data-test="to-plan">${say("ground.to-plan")}</a>`}
      </p>
      <${WallSettings} board="ground" />
    </div>
    <${WhatToDo} plan=${plan} none=${none} />
    <div class="ground">
      <${Map} opened=${opened.value} open=${open} plan=${plan} />
      <aside>
        ${shown && html`<${PlaceDetails} p=${shown} places=${places.value} close=${close} />`}
        ${opened.value.leg && html`<${Trips} x=${opened.value.leg} close=${close} />`}
        ${stretch && html`<${Passing} stretch=${stretch} open=${leg} close=${close} />`}
        <h2>${say("ground.walks-of." + choice.value.walks)}</h2>
        <${Figures} />
        <${Key} />
        <${Legs} open=${leg} />
      </aside>
    </div>
  `;
}
