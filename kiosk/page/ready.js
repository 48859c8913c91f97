// What an operation needs: whoever sees it says what is there and what is missing, one
// thing after the other.
import { html } from "../../web/lib/vendor/ui.js";
import { submit } from "./flow.js";
import { useKeys } from "./keys.js";
import { asked, lapses, reasonRead } from "./state.js";
import { withWhen } from "./when.js";
import { say } from "../../web/lib/words.js";

/**
 * @typedef {import("./_types.js").Step} Step
 * @typedef {import("./_types.js").Thing} Thing
 * @typedef {import("./_types.js").View} View
 */

const STATES = ["there", "missing"];

/** @param {{step: Step, v: View, foot: unknown}} props */
export function ReadyView({ step, v, foot }) {
  /** @type {Thing[]} */
  const things = v.things || [];
  // The list stays open: several things are said one after the other.
  const tell = (/** @type {Thing} */ t, /** @type {string} */ state) => {
    submit(step, { for: t.thing, reason: t.state === state ? "open" : state });
    asked.value = step;
  };
  const all = () => submit(step, { reason: "there" });
  const turn = (/** @type {Thing} */ t) => tell(t, t.state === "missing" ? "there" : "missing");
  useKeys((k) => {
    if (k === "key.back") return ((asked.value = null), true);
    if (k === "key.ok" || k === "key.all") return (all(), true);
    const read = reasonRead(k, ["ready"])?.reason;
    const named = read && things.find((x) => x.thing === read);
    if (named) return (tell(named, "missing"), true);
    const t = k.length === 1 && things["123456789".indexOf(k)];
    return t ? (turn(t), true) : false;
  }, "press");
  return html`<div class="ask" data-test="things">
    <h2>${withWhen(say("pad.ready", step.operation))}</h2>
    <button class="main" data-test="ready-all" data-sense=${lapses.value} onClick=${all}>
      ${say("pad.ready.all")}
    </button>
    <ul class="things">
      ${things.map((t, i) => html`<${Row} key=${t.thing} t=${t} i=${i} tell=${tell} />`)}
    </ul>
    <p class="soft">${say("pad.ready.how")}</p>
    ${foot}
  </div>`;
}

/** @param {{t: Thing, i: number, tell: (t: Thing, state: string) => void}} props */
const Row = ({ t, i, tell }) =>
  html`<li data-test=${"thing-" + t.thing} data-state=${t.state || "open"}>
    <span>
      ${i < 9 && html`<kbd>${i + 1}</kbd>`} <b>${t.text || t.thing}</b>
      <small>${[say("ready." + (t.state || "open")), t.by, t.note].filter(Boolean).join(" · ")}</small>
    </span>
    ${STATES.map(
      (s) =>
        html`<button
          key=${s}
          class="key step"
          data-test=${`thing-${t.thing}-${s}`}
          data-sense=${lapses.value}
          aria-pressed=${t.state === s}
          onClick=${() => tell(t, s)}>
          ${say("ready." + s)}
        </button>`,
    )}
  </li>`;

/**
 * What someone said is missing, in the shop's words; '' for nothing.
 * @param {Thing[] | undefined} things
 */
export const missingText = (things) =>
  (things || [])
    .filter((t) => t.state === "missing")
    .map((t) => t.text || t.thing)
    .join(", ");
