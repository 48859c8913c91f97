// The work screen: what is at the machine, what waits for it, and the bar above.
import { html } from "../../web/lib/vendor/ui.js";
import { keeps } from "./box.js";
import { CameraKey } from "./camera.js";
import { now as serverNow, tick } from "../../web/lib/clock.js";
import { goTo, openCard } from "./front.js";
import { useKeys } from "./keys.js";
import { adviceAt, inOrder, said } from "./next.js";
import { later, link } from "./outbox.js";
import { practising } from "./practising.js";
import { startTyping } from "./pads.js";
import { isSoon, keepOperator, leave } from "./people.js";
import { momentOf } from "./when.js";
import { boards, current, machine, mine, open, operator, over, reasonsOf, shop } from "./state.js";
import { away } from "../../web/lib/servers.js";
import { Hot } from "../../web/lib/marked.js";
import { dateText, elapsed, seconds } from "../../web/lib/times.js";
import { count, say, stateWord } from "../../web/lib/words.js";

/**
 * @typedef {import("./_types.js").View} View
 * @typedef {import("./_types.js").Wait} Wait
 */

const WAITING_SHOWN = 4;

export function HereView() {
  useKeys(
    (k) => {
      if (open.value || over.value || !/^[\w-]$/.test(k)) return false;
      startTyping(k);
      return true;
    },
    () => (open.value || over.value ? "" : "text"),
  );
  const b = boards.value[current.value];
  const here = b?.here || [];
  const advice = adviceAt(current.value);
  const waiting = inOrder(
    (b?.waiting || []).filter((w) => w.kind === "wait" && !here.some((h) => h.card === w.card)),
    advice,
  );
  return html`<section class="here" data-test="here">
    <p class="scan">
      <b>${say("here.scan")}</b> ${say("here.how")}
      <button class="key" data-test="open-type" onClick=${() => (over.value = "type")}>
        ${say("here.type")}
      </button>
      <${CameraKey} test="open-camera" />
    </p>
    ${advice && advice.waiting.length > 1 && html`<p class="advice" data-test="advice">${advice.say}</p>`}
    <h2>${say("here.title", machine.value?.name || current.value)}</h2>
    ${here.length === 0 && html`<p class="soft">${say("here.none")}</p>`}
    ${here.map(
      (v) => html`<${Line} key=${v.card} v=${v} got=${b.got} advice=${said(v, advice)?.say || ""} />`,
    )}
    <h2>${say("waits.title", b?.work_centre || "")}</h2>
    ${waiting.length === 0 && html`<p class="soft">${say("waits.none")}</p>`}
    ${waiting
      .slice(0, WAITING_SHOWN)
      .map((w) => html`<${Waiting} key=${w.key} w=${w} advice=${said(w, advice)?.say || ""} />`)}
    ${waiting.length > WAITING_SHOWN &&
    html`<p class="soft">${count("waits.more", waiting.length - WAITING_SHOWN)}</p>`}
  </section>`;
}

/** @param {{v: View, got: number, advice: string}} props */
function Line({ v, got, advice }) {
  const front = open.value?.card === v.card;
  return html`<button
    class=${"line" + (front ? " front" : "") + (v.visit_state === "stopped" ? " needs" : "")}
    data-test=${"here-" + v.card}
    onClick=${() => openCard(v.card)}>
    <span class="line-head">
      <b>${v.hot ? html`<${Hot} /> ` : ""}${v.works_order || v.card}</b>
      <span class="state">${stateWord(v.visit_state)}</span>
    </span>
    <span>${v.part} · ${say("batch.op", v.operation)}</span>
    <span class="big">${say("line.of", v.good, v.of)}</span>
    <${Scale} v=${v} got=${got} />
    ${advice && html`<span class="soft" data-test="advice-row">${advice}</span>`}
  </button>`;
}

/**
 * So far and planned as two marks on one scale.
 * @param {{v: View, got: number}} props
 */
export function Scale({ v, got }) {
  tick.value;
  const now = serverNow();
  const spent =
    (v.spent_s ?? 0) +
    (v.visit_state && v.visit_state !== "finished" && v.visit_state !== "waiting"
      ? Math.max(0, (now - got) / 1000)
      : 0);
  if (!v.plan_s) {
    return v.since
      ? html`<span class="soft">${say("line.since", elapsed(now - Date.parse(v.since)))}</span>`
      : null;
  }
  const most = Math.max(spent, v.plan_s) * 1.05;
  const at = (/** @type {number} */ s) => ({ left: `${Math.min(100, (s / most) * 100)}%` });
  const past = spent > v.plan_s;
  const actual = say("plan.actual", elapsed(spent * 1000));
  return html`<span class="scale" data-test="scale">
    <span class="scale-line">
      <i class="mark plan" style=${at(v.plan_s)}></i>
      <i class=${"mark actual" + (past ? " past" : "")} style=${at(spent)}></i>
    </span>
    <span><i class=${"mark actual" + (past ? " past" : "")}></i> ${actual}</span>
    <span><i class="mark plan"></i> ${say("plan.planned", seconds(v.plan_s))}</span>
  </span>`;
}

/** @type {(things: string[]) => string} */
const lacks = (things) =>
  things.map((t) => reasonsOf("ready").find((r) => r.reason === t)?.text || t).join(", ");

/** @param {{w: Wait, advice: string}} props */
function Waiting({ w, advice }) {
  tick.value;
  const since = Date.parse(w.since);
  return html`<button class="line thin" data-test=${"wait-" + w.card} onClick=${() => openCard(w.card)}>
    <span class="line-head">
      <b>${w.hot ? html`<${Hot} /> ` : ""}${w.works_order || w.card}</b>
      <span class="state">${say("line.since", elapsed(serverNow() - since))}</span>
    </span>
    <span>
      ${w.part} · ${say("batch.op", w.operation)} · ${count("line.pieces", w.pieces)}
      ${w.state !== "waiting" ? " · " + stateWord(w.state) : ""}
    </span>
    ${w.not_ready &&
    w.not_ready.length > 0 &&
    html`<span class="late" data-test="not-ready">${say("batch.missing", lacks(w.not_ready))}</span>`}
    ${w.due &&
    html`<span class=${w.late ? "late" : "soft"}>
      ${say(w.late ? "line.late" : "line.due", dateText(w.due))}
    </span>`}
    ${advice && html`<span class="soft" data-test="advice-row">${advice}</span>`}
  </button>`;
}

// The line at the top: machines, who is here, how the link stands.

export function Bar() {
  return html`<header class="bar">
    <nav class="tabs">${mine.value.map((id) => html`<${Tab} key=${id} id=${id} />`)}</nav>
    <${Who} />
    ${!practising && html`<${Link} />`}
    ${later.value.length > 0 &&
    html`<button class="key warn" data-test="later" onClick=${() => (over.value = "answers")}>
      ${say("answers", later.value.length)}
    </button>`}
    <button class="key" data-test="menu" onClick=${() => (over.value = over.value ? "" : "menu")}>
      ${say("menu")}
    </button>
  </header>`;
}

/** @param {{id: string}} props */
function Tab({ id }) {
  const m = shop.value.machines.find((x) => x.machine === id);
  const here = boards.value[id]?.here || [];
  const busiest = here.find((h) => h.visit_state === "running") || here[0];
  return html`<button
    class=${"tab" + (current.value === id ? " front" : "")}
    data-test=${"machine-" + id}
    aria-current=${current.value === id}
    onClick=${() => goTo(id)}>
    <b>${id}</b>
    <span>${busiest ? stateWord(busiest.visit_state) : m?.name}</span>
  </button>`;
}

function Who() {
  tick.value;
  const o = operator.value;
  if (!o) return html`<span class="who none" data-test="operator">${say("badge.none")}</span>`;
  const soon = isSoon(o);
  // A tap in the warning says that they are there still (people.js).
  return html`<button
    class=${"key who" + (soon ? " warn" : "")}
    data-test="operator"
    data-sense=${soon}
    data-soon=${soon}
    onClick=${soon ? keepOperator : leave}>
    ${say(soon ? "badge.soon" : "badge.out", o.name)}
  </button>`;
}

function Link() {
  const { alone, waiting, since, blocked } = link.value;
  const { own = "", other = "" } = away.value || {};
  let text = other ? say("link.through", other, own) : say("link.step");
  if (blocked && waiting) text = say("link.blocked", waiting, blocked);
  else if (alone && !waiting) text = say("link.alone.none");
  else if (alone) text = count("link.alone", waiting, momentOf(since));
  else if (waiting) text = say("link.sending", waiting);
  const off = alone || (blocked && waiting);
  return html`<span
    class=${"link" + (off ? " off" : "")}
    data-test="link"
    data-waiting=${waiting}
    data-through=${other}
    role="status">
    <svg class="shape" viewBox="0 0 24 24" aria-hidden="true">
      ${off
        ? html`<path class="stroke" d="M3 12h5M16 12h5M9 7l6 10" />`
        : html`<path class="stroke" d="M3 12h18M7 8l-4 4 4 4M17 8l4 4-4 4" />`}
    </svg>
    ${text}
    ${!keeps() && html`<b> ${say("link.memory")}</b>`}
  </span>`;
}
