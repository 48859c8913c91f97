// Makes a device a station, and chooses its machines.
import { html, useState } from "../../web/lib/vendor/ui.js";
import { enrol } from "./flow.js";
import { useMachines } from "./front.js";
import { useKeys } from "./keys.js";
import { LetterPad } from "./pads.js";
import { Plain } from "./plain.js";
import { mine, over, screen, shop } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("../../web/lib/types.js").Schema["Shop"]["machines"][number]} Machine */

/**
 * The code from the supervisor's page.
 * @param {{again: () => void}} props
 */
export function EnrolView({ again }) {
  const [code, setCode] = useState("");
  const go = async (c = code) => {
    if (c && (await enrol(c))) again();
    else setCode("");
  };
  return html`<main class="panel wide" data-test="enrol">
    <h1>${say("enrol.title")}</h1>
    <p>${say("enrol.how")}</p>
    <${LetterPad} value=${code} set=${setCode} ok=${go} word=${say("enrol.ok")} most=${12} />
    <p><a class="key" href="/sign-in?next=/station">${say("enrol.signin")}</a></p>
    <${Plain} />
  </main>`;
}

/** A list of the shop's machines by work centre. */
export function ChooseView() {
  const [picked, setPicked] = useState(mine.value);
  const flip = (/** @type {string} */ id) =>
    setPicked(picked.includes(id) ? picked.filter((x) => x !== id) : [...picked, id]);
  const go = () => {
    if (!picked.length) return;
    useMachines(picked);
    screen.value = "work";
    over.value = "";
  };
  useKeys((k) => k === "key.ok" && (go(), true));
  const centres = byCentre(shop.value.machines);
  return html`<main class="panel wide" data-test="choose">
    <h1>${say("choose.title")}</h1>
    <p>${say(centres.length ? "choose.how" : "choose.none")}</p>
    <div class="centres">
      ${centres.map(
        ([wc, list]) => html`<section key=${wc}>
          <h2>${wc}</h2>
          <div class="keys">
            ${list.map(
              (/** @type {Machine} */ m) => html`<button
                key=${m.machine}
                class="key pick"
                data-test=${"pick-" + m.machine}
                aria-pressed=${picked.includes(m.machine)}
                onClick=${() => flip(m.machine)}>
                <b>${m.machine}</b>
                <span>${m.name}</span>
              </button>`,
            )}
          </div>
        </section>`,
      )}
    </div>
    ${centres.length > 0 &&
    html`<button class="main stick" data-test="choose-ok" disabled=${!picked.length} onClick=${go}>
      ${say("choose.ok")}
    </button>`}
  </main>`;
}

/**
 * Machines grouped by work centre, in the order they came.
 * @param {Machine[]} machines
 */
export function byCentre(machines) {
  const groups = new Map();
  for (const m of machines) groups.set(m.work_centre, [...(groups.get(m.work_centre) || []), m]);
  return [...groups];
}
