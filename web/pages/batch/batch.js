// A batch: what it is, how many pieces became what, where it is, what can be done
// about it, and its whole story, live while the page is open.
import { html, useComputed, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { boards, LinkState, openBoard } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { At, Due, Gone, Hot, Mark } from "../../lib/marks.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { loadShop, machineName, reasonText } from "../../lib/shop.js";
import { dayOf, moment } from "../../lib/times.js";
import { why, whyText } from "../../lib/why.js";
import { count, known, say, stateWord } from "../../lib/words.js";
import { Asked, CorrectDialog } from "./asked.js";
import { Changes } from "./changes.js";
import { Deeds } from "./deeds.js";
import { ShortOf } from "./makeup.js";
import { Operations } from "./operations.js";
import { Ready } from "./ready.js";
import { Lines, Visits } from "./visits.js";

const { about, rows } = boards.waits;

/**
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./asked.js").Batch} Batch
 * @typedef {import("./asked.js").Line} Line
 * @typedef {import("../../lib/board.js").Row} Row
 */

const figures = /** @type {const} */ ([
  "started",
  "wanted",
  "good",
  "scrap",
  "rework_open",
  "review",
  "missing",
  "to_do",
  "delivered",
]);

/**
 * Where says in words where a batch is.
 * @param {{b: Batch}} props
 */
function Where({ b }) {
  const open = b.visits.filter((v) => v.state !== "finished");
  if (b.joined_to) return html`${say("where.joined")} <a href=${"/batch/" + b.joined_to}>${b.joined_to}</a>`;
  if (open.length) {
    return open.map(
      (v, i) => html`<span key=${v.visit}>
        ${i ? "; " : ""}
        ${say("where.at", v.machine, v.operation, stateWord(v.state))}
        ${machineName(v.machine) && html` <small>${machineName(v.machine)}</small>`}
      </span>`,
    );
  }
  const op = b.operations.find((o) => o.operation === b.next_operation);
  if (op && !["done", "cancelled"].includes(b.state))
    return say("where.before", op.work_centre, op.operation);
  return say("where.none");
}

/** @param {{b: Batch}} props */
function State({ b }) {
  const reason = reasonText(b.reason, "wait", "stop", "review");
  const word = stateWord(b.state);
  if (b.state === "held") return html`<${Mark} kind="held">${word}<//> ${reason}`;
  if (b.state === "stopped") return html`<${Mark} kind="stop">${word}<//> ${reason}`;
  return html`<b>${word}</b> ${reason}`;
}

/** @param {{name: string, children?: unknown}} props */
const Fact = ({ name, children }) =>
  html`<div><dt>${say("fact." + name)}</dt><dd data-test=${"fact-" + name}>${children}</dd></div>`;

const walked = /** @type {const} */ ([
  ["stores", "stores_trips", "stores_m"],
  ["dock", "dock_trips", "dock_m"],
  ["outside", "outside_trips", "outside_m"],
]);

/**
 * WalkParts says how much of a batch's walk joins the stores, the dock, or where
 * work is sent out; it is read again when the batch was carried further.
 * @param {{card: string, trips: number}} props
 */
function WalkParts({ card, trips }) {
  const parts = useSignal(/** @type {Schema["WalkParts"] | null} */ (null));
  useEffect(() => {
    let mine = true;
    get(`/api/v1/ground/walks?batch=${encodeURIComponent(card)}`)
      .then((/** @type {Schema["Walks"]} */ w) => {
        if (mine) parts.value = w.parts;
      })
      .catch(failed);
    return () => {
      mine = false;
    };
  }, [card, trips]);
  const p = parts.value;
  return (
    p &&
    walked
      .filter(([, trips]) => p[trips] > 0)
      .map(
        ([k, , m]) =>
          html` <small key=${k} data-test=${"walk-" + k}>${say("walk." + k, Math.round(p[m]))}</small>`,
      )
  );
}

/**
 * WaitsFor says why the batch waits and its place in line, for each operation that it waits
 * at; a reason that someone said comes first.
 * @param {{card: string}} props
 */
function WaitsFor({ card }) {
  const minute = useComputed(() => Math.floor(tick.value / 30000) * 30000);
  const waits = useComputed(() =>
    Object.values(rows.value)
      .filter((r) => r.card === card)
      .sort((a, b) => a.operation - b.operation),
  );
  const lines = about.value?.lines ?? {};
  return waits.value
    .map((r) => ({ r, text: whyText(why(r, lines[r.work_centre], minute.value), minute.value) }))
    .filter((x) => x.text)
    .map(
      ({ r, text }) => html`<p
        key=${r.key}
        class="waits-for"
        data-test="waits-for"
        data-operation=${r.operation}>
        ${say("waits-for", r.operation, text)}
      </p>`,
    );
}

/** @param {{b: Batch}} props */
function BatchHead({ b }) {
  const today = useComputed(() => about.value?.today || dayOf(tick.value));
  const over = ["done", "cancelled"].includes(b.state);
  const kin = (b.family || []).filter((c) => c !== b.card);
  return html`<section class="head">
    <h1>
      ${say("batch.title", b.works_order || b.card)} ${b.hot && html`<${Hot} /> `}
      <span class="soft">${b.part}${b.part_name ? " – " + b.part_name : ""}</span>
    </h1>
    <p class="now">
      <span data-test="batch-state" data-state=${b.state}><${State} b=${b} /></span>${" "}
      <span data-test="batch-where"><${Where} b=${b} /></span>
    </p>
    ${!over && html`<${WaitsFor} card=${b.card} />`}
    ${(b.provisional || []).map(
      (p) =>
        html`<p key=${p.station + p.machine} class="soft" data-test="provisional">
          ${say("batch.provisional", p.station, p.machine, moment(Date.parse(p.since)))}
        </p>`,
    )}
    <dl class="figures">
      ${figures.map(
        (f) =>
          html`<div
            key=${f}
            class=${["scrap", "rework_open", "review", "missing"].includes(f) && b[f]
              ? "not-zero"
              : b[f]
                ? ""
                : "zero"}>
            <dt>${say(f === "good" ? "figure.good.end" : "figure." + f)}</dt>
            <dd data-test=${"figure-" + f}>${b[f] ?? 0}</dd>
          </div>`,
      )}
    </dl>
    <dl class="facts">
      <${Fact} name="card">${b.card}<//>
      <${Fact} name="due">
        <${Due} due=${b.due} today=${today.value} late=${!over && b.due && b.due < today.value} />
      <//>
      <${Fact} name="revs">${say("revs", b.drawing_rev || say("none"), b.route_rev)}<//>
      ${b.customer &&
      html`<${Fact} name="customer">${[b.customer, b.order_line].filter(Boolean).join(", ")}<//>`}
      ${b.material_lots &&
      b.material_lots.length > 0 &&
      html`<${Fact} name="lots">${b.material_lots.join(", ")}<//>`}
      ${b.priority !== 0 && html`<${Fact} name="priority">${b.priority}<//>`}
      <${Fact} name="released">
        <${At} t=${b.released} />
        ${!over && html` (<${Gone} since=${b.released} />)`}
      <//>
      <${Fact} name="walk">
        ${count("walk", b.trips, Math.round(b.walk_m), known("walk." + b.walk_kind, b.walk_kind))}
        <${WalkParts} card=${b.card} trips=${b.trips} />
      <//>
      ${b.makes_up && html`<${Fact} name="makes_up"><a href=${"/batch/" + b.makes_up}>${b.makes_up}</a><//>`}
      ${b.made_up &&
      b.made_up.length > 0 &&
      html`<${Fact} name="made_up">
        ${b.made_up.map((c, i) => html`${i ? ", " : ""}<a key=${c} href=${"/batch/" + c}>${c}</a>`)}
      <//>`}
      ${b.parent && html`<${Fact} name="parent"><a href=${"/batch/" + b.parent}>${b.parent}</a><//>`}
      ${b.split_off > 0 && html`<${Fact} name="split_off">${count("pieces", b.split_off)}<//>`}
      ${b.joined > 0 && html`<${Fact} name="joined">${count("pieces", b.joined)}<//>`}
      ${kin.length > 0 &&
      html`<${Fact} name="family">
        ${kin.map(
          (c, i) => html`${i ? ", " : ""}<a key=${c} data-test="family-link" href=${"/batch/" + c}>${c}</a>`,
        )}
      <//>`}
    </dl>
  </section>`;
}

const code = decodeURIComponent(location.pathname.slice("/batch/".length));

/** @param {{batch: Batch, after: () => void}} props */
function Questions({ batch, after }) {
  if (batch.questions.length === 0) return null;
  const open = batch.questions.filter((q) => !q.settled),
    settled = batch.questions.filter((q) => q.settled);
  return html`<section data-test="batch-questions">
    <h2>${say("batch.questions")}</h2>
    ${[...open, ...settled].map((q) => html`<${Asked} key=${q.question} q=${q} after=${after} />`)}
  </section>`;
}

/**
 * Story is the page once the batch is known.
 * @param {{story: Schema["Story"], after: () => void}} props
 */
function Story({ story, after }) {
  const correcting = useSignal(/** @type {Line | null} */ (null));
  const b = story.batch;
  const visitLines = new Set(b.visits.map((v) => v.visit));
  const rest = story.lines.filter((l) => !l.visit || !visitLines.has(l.visit));
  const deeds = {
    settle: may("settle"),
    after,
    correct: (/** @type {Line} */ line) => {
      correcting.value = line;
    },
  };
  return html`
    <${BatchHead} b=${b} />
    <${Deeds} b=${b} after=${after} />
    <${ShortOf} b=${b} after=${after} />
    <${Questions} batch=${b} after=${after} />
    <${Ready} b=${b} after=${after} />
    <${Operations} b=${b} />
    <${Changes} b=${b} />
    <${Visits} b=${b} lines=${story.lines} deeds=${deeds} />
    <section>
      <h2>${say("batch.other")}</h2>
      <p class="soft">${say("batch.other.why")}</p>
      <${Lines} lines=${rest} deeds=${deeds} />
    </section>
    ${correcting.value &&
    html`<${CorrectDialog}
      line=${correcting.value}
      b=${b}
      after=${after}
      close=${() => {
        correcting.value = null;
      }}
    />`}
  `;
}

function BatchPage() {
  const story = useSignal(/** @type {Schema["Story"] | null} */ (null)),
    problem = useSignal("");
  useEffect(() => {
    let soon = /** @type {ReturnType<typeof setTimeout> | undefined} */ (undefined),
      last = 0;
    const load = async () => {
      const mine = ++last;
      try {
        /** @type {Schema["Story"]} */
        const s = await get(`/api/v1/batches/${encodeURIComponent(code)}/story`);
        if (mine !== last) return;
        story.value = s;
        problem.value = "";
        document.title = say("title", s.batch.works_order || s.batch.card);
      } catch (err) {
        if (!story.value) problem.value = /** @type {Error} */ (err).message;
      }
    };
    reload = () => {
      clearTimeout(soon);
      soon = setTimeout(load, 50);
    };
    const later = () => {
      clearTimeout(soon);
      soon = setTimeout(load, 400);
    };
    const ours = (/** @type {Row} */ r) =>
      story.value && (r.card === story.value.batch.card || (story.value.batch.family || []).includes(r.card));
    Promise.all([loadShop(), load()]).catch(failed);
    openBoard({
      onChange: (set, gone) => {
        if ([...set, ...gone].some(ours)) later();
      },
      onReopen: later,
    });
  }, []);
  if (problem.value)
    return html`<h1>${say("batch.title", code)}</h1><p class="empty" data-test="failed">${problem.value}</p>`;
  if (!story.value) return html`<p class="soft">${say("loading")}</p>`;
  return html`<${LinkState} minutes /><${Story} story=${story.value} after=${() => reload()} />`;
}

let reload = () => {};

start(() => (me.value ? html`<${BatchPage} />` : null));
