// What was asked, done in earnest: a change of a calendar, a hot batch, another rule, by
// those who may.
import { html, useSignal } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { calendarBody, versionOn } from "../../lib/calendar.js";
import { failed, may, note } from "../../lib/shell.js";
import { desk, send } from "../../lib/shop.js";
import { dateText } from "../../lib/times.js";
import { say } from "../../lib/words.js";

/**
 * @typedef {import("./scenario.js").Change} Change
 * @typedef {import("./ask.js").Data} Data
 */

/**
 * @param {Change} c
 * @param {Data["calendars"]["calendars"][number]} k its calendar
 * @param {string} today
 */
async function overtime(c, k, today) {
  const version = versionOn(k, c.date),
    turn = { kind: /** @type {"overtime"} */ ("overtime"), date: c.date, from: c.from, to: c.to };
  await post(
    "/api/v1/calendars",
    calendarBody({ ...version, turns: [...version.turns, turn] }, version.from, today),
  );
  note("good", say("what-if.done.overtime", c.calendar, dateText(c.date), c.from, c.to));
}

/** @param {Change} c */
async function rule(c) {
  await post("/api/v1/ahead/rules", { rule: c.rule });
  note("good", say("what-if.done.rule", say("ahead.rule." + c.rule)));
}

/**
 * Deed is the button that does what was asked, for those who may; what cannot be done
 * from here says where it is done.
 * @param {{c: Change, data: Data, done: () => void}} props
 */
export function Deed({ c, data, done }) {
  const busy = useSignal(false);
  const act = (/** @type {() => Promise<boolean | void>} */ go) => async () => {
    busy.value = true;
    try {
      if ((await go()) !== false) done();
    } catch (err) {
      failed(err);
    } finally {
      busy.value = false;
    }
  };
  /** @type {(go: () => Promise<boolean | void>, text: string) => unknown} */
  const button = (go, text) =>
    html`<button data-test="do-it" disabled=${busy.value} onClick=${act(go)}>${text}</button>`;
  const { calendars, today } = data.calendars,
    k = calendars.find((x) => x.calendar === c.calendar);
  if (c.k === "overtime" && may("plan") && k && k.machines.length > 0)
    return button(() => overtime(c, k, today), say("what-if.do.overtime", c.calendar));
  if (c.k === "rule" && may("plan")) return button(() => rule(c), say("what-if.do.rule"));
  if (c.k === "first" && may("release"))
    return button(
      () =>
        send(desk("override", c.card, { for: "hot", pieces: 1, reason: say("what-if.reason") }), {
          done: say("what-if.done.first"),
        }),
      say("what-if.do.first"),
    );
  if (c.k === "split" || c.k === "route")
    return html`<a class="button" href=${"/batch/" + encodeURIComponent(c.card)}>
      ${say("what-if.do." + c.k)}
    </a>`;
  return html`<span class="soft">${say(c.k === "down" ? "what-if.do.down" : "what-if.do.others")}</span>`;
}
