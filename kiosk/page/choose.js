// Makes a device a station, and chooses its machines.
import { html, useState } from "../../web/lib/vendor/ui.js";
import { CameraKey, CameraView } from "./camera.js";
import { accept } from "./edge.js";
import { enrol } from "./flow.js";
import { begin } from "./front.js";
import { useKeys } from "./keys.js";
import { link } from "./outbox.js";
import { LetterPad } from "./pads.js";
import { Plain } from "./plain.js";
import { cutOff, mine, over, plated, shop } from "./state.js";
import { count, say } from "../../web/lib/words.js";

// The code of an address is for this page, not for the history of the browser.
const asked = new URLSearchParams(location.search).get("enrol");
if (asked) history.replaceState(null, "", "/station");
const brought = asked && asked !== "new" ? asked : "";

/** Whether someone came by an address to enrol this device. */
export const wantsEnrolling = () => !!asked;

/** @typedef {import("../../web/lib/_types.js").Schema["Shop"]["machines"][number]} Machine */

/**
 * The code from the supervisor's page: typed on the glass, scanned, read by the camera,
 * or brought along by the address, which a press still has to confirm. A device that was
 * cut off says so, and what it keeps.
 * @param {{again: () => void}} props
 */
export function EnrolView({ again }) {
  const [code, setCode] = useState(brought);
  const go = async (c = code) => {
    if (c && (await enrol(c))) again();
    else setCode("");
  };
  const { waiting } = link.value;
  return html`<main class="panel wide" data-test="enrol">
    <h1>${say("enrol.title")}</h1>
    ${cutOff.value &&
    html`<div class="told refuse" data-test="cut-off" data-waiting=${waiting} role="alert">
      <p>${say("cut.off")} ${waiting > 0 && count("cut.off.keeps", waiting)}</p>
    </div>`}
    <p>${say("enrol.how")}</p>
    <div class="keys"><${CameraKey} test="enrol-camera" /></div>
    ${over.value === "camera" && html`<${CameraView} />`}
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
    if (picked.length) begin(picked);
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

/** A plate was read of a machine that this station is not for yet: add it, or change to it? */
export function PlateView() {
  const m = plated.value;
  const add = () => m && settle([...mine.value, m.machine], m);
  const change = () => m && settle([m.machine], m);
  const settle = (/** @type {string[]} */ ids, /** @type {import("./_types.js").Machine} */ m) => {
    begin(ids, m.machine);
    accept(say("machine.now", m.name));
  };
  const back = () => (over.value = "");
  useKeys((k) => {
    const deed = { 1: add, 2: change, "key.back": back }[k];
    return deed ? (deed(), true) : false;
  }, "press");
  if (!m) return null;
  return html`<section class="panel" data-test="plate" data-machine=${m.machine}>
    <h2>${say("plate.title", `${m.machine} ${m.name}`)}</h2>
    <div class="keys">
      <button class="key step" data-test="plate-add" onClick=${add}>
        <kbd>1</kbd>
        ${say("plate.add", mine.value.join(", "))}
      </button>
      <button class="key step" data-test="plate-change" onClick=${change}>
        <kbd>2</kbd>
        ${say("plate.change")}
      </button>
    </div>
    <p class="soft">${say("plate.how")}</p>
    <button class="key step" data-test="back" onClick=${back}>${say("pad.back")}</button>
  </section>`;
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
