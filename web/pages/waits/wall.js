// The waits board as a wall screen: brings itself onto pages of large type, and turns
// them.
import { html, useComputed } from "../../lib/vendor/ui.js";
import { about, pastPlan, rows, stale } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { Gone, Shape } from "../../lib/marks.js";
import { reasonText } from "../../lib/shop.js";
import { elapsed } from "../../lib/times.js";
import { fit, Foot, Rows, typeSize, useScreen, useTurning, worst } from "../../lib/wall.js";
import { count, say } from "../../lib/words.js";

function Worst({ row }) {
  const kind = row.late ? "late" : row.state === "held" ? "held" : "";
  return html`<span class=${kind ? "worst needs" : "worst"} data-test="wall-worst" data-card=${row.card}>
    ${kind && html`<${Shape} kind=${kind} />`}<span class="name">${row.works_order || row.card}</span>${" "}
    <b><${Gone} since=${row.since} /></b>
  </span>`;
}

// CentreBlock is a work centre: how many wait, and the two worst.
function CentreBlock({ b }) {
  return html`<section class="wall-centre" data-test="wall-centre" data-centre=${b.name} data-waits=${b.n}>
    <span class="wall-name">${b.name}</span>
    <span class=${b.n ? "wall-n" : "wall-n soft"}>${b.n ? count("wall.n", b.n) : say("wall.none")}</span>
    ${b.list.slice(0, 2).map((r) => html`<${Worst} key=${r.key} row=${r} />`)}
  </section>`;
}

const PastHead = ({ b }) => html`<h2 class="wall-past-head">${count("wall.past", b.n)}</h2>`;

// PastBlock is a machine that runs past its plan, or stands still.
function PastBlock({ b }) {
  const row = b.row;
  const past = useComputed(() => elapsed(pastPlan(row, tick.value)));
  return html`<p class="wall-past" data-test="wall-past" data-card=${row.card}>
    <span class="name">${row.machine} ${row.works_order || row.card}</span>
    <b>
      ${row.state === "stopped"
        ? html`${say("state.stopped")} <${Gone} since=${row.since} /> ${reasonText(row.reason, "stop")}`
        : html`${say("wall.over")} ${past}`}
    </b>
  </p>`;
}

const NoneBlock = () => html`<p class="wall-past soft">${say("wall.no-past")}</p>`;

// MoreBlock counts what has no room.
const MoreBlock = ({ b }) =>
  html`<p class="wall-past" data-test="wall-more">
    ${b.centres > 0 && count("wall.more", b.centres, b.waits)}${" "}
    ${b.others > 0 && count("wall.more-past", b.others)}
  </p>`;

// The waits board as a wall screen: brings itself onto pages of big type, and
// turns them.

const lineHeight = 1.2; // em, the same in wall.css
const rules = 0.5; // em, what the lines between the blocks take at most

// measure says how many characters and lines of this size the screen has.
function measure() {
  const px = typeSize();
  const em = innerWidth / px,
    high = Math.floor((innerHeight - px * rules) / (px * lineHeight));
  const form = em >= 36 ? "wide" : em >= 19 ? "middle" : "narrow";
  return { form, lines: Math.max(3, high - (form === "narrow" ? 4 : 2)) };
}

const centreLines = (form, n) =>
  n === 0 || form === "wide" ? 1 : form === "middle" ? 2 : 1 + Math.min(2, n);

// blocksOf makes the blocks of the board: a block per work centre, then what
// runs past its plan or stands still.
function blocksOf(all, centres, form, t) {
  const waits = new Map(centres.map((c) => [c.work_centre, []]));
  const works = [];
  for (const r of all) {
    if (r.kind !== "wait") works.push(r);
    else waits.set(r.work_centre, [...(waits.get(r.work_centre) || []), r]);
  }
  const blocks = [...waits].map(([name, list]) => ({
    kind: CentreBlock,
    key: name,
    name,
    list: worst(list),
    n: list.length,
    form,
    lines: centreLines(form, list.length),
    need: list.length === 0 ? 0 : 10 + list.length + 1000 * list.filter((r) => r.late).length,
  }));
  const past = works
    .map((row) => ({ row, past: pastPlan(row, t) }))
    .filter((x) => x.past > 0 || x.row.state === "stopped");
  past.sort((a, b) => b.past - a.past);
  if (past.length === 0) return [...blocks, { kind: NoneBlock, key: "none", lines: 1, need: 1 }];
  return [
    ...blocks,
    { kind: PastHead, key: "past", n: past.length, lines: 1, need: 1e9 },
    ...past.map((x, i) => ({
      kind: PastBlock,
      key: x.row.key,
      row: x.row,
      form,
      lines: form === "narrow" ? 2 : 1,
      need: 1e6 - i * 1000,
      isPast: true,
    })),
  ];
}

function more(left) {
  const centres = left.filter((b) => b.kind === CentreBlock);
  const waits = centres.reduce((n, b) => n + b.n, 0);
  return {
    kind: MoreBlock,
    key: "more",
    lines: 1,
    need: Infinity,
    centres: centres.length,
    waits,
    others: left.length - centres.length,
  };
}

function Head({ list, page, of }) {
  const cards = (some) => new Set(list.filter((r) => r.kind === "wait" && some(r)).map((r) => r.card)).size;
  const waits = cards(() => true),
    late = cards((r) => r.late);
  return html`<div class="wall-head">
    <h1 data-test="wall-total">
      ${count("wall.waits", waits)}
      ${late ? ", " + count("wall.late", late) : ""}
    </h1>
    <span data-test="wall-page">${of > 1 ? say("wall.page", page, of) : ""}</span>
  </div>`;
}

export function Wall() {
  const size = useScreen(measure);
  const page = useTurning();
  const minute = useComputed(() => Math.floor(tick.value / 10000) * 10000);
  if (!about.value) return html`<p class="wall-out">${stale() || say("loading")}</p>`;
  const list = Object.values(rows.value);
  const pages = fit(blocksOf(list, about.value.centres || [], size.form, minute.value), size.lines, more);
  const at = page % pages.length;
  return html`<div class=${"wall-board " + size.form}>
    <${Head} list=${list} page=${at + 1} of=${pages.length} />
    <${Rows} blocks=${pages[at]} />
    <${Foot} />
  </div>`;
}
