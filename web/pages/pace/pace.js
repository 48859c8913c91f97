// The pace board: a page to work with, or with ?wall=1 a wall screen, what is past its
// plan first.
import { html, useComputed } from "../../lib/vendor/ui.js";
import { about, openBoard, rows, stale } from "../../lib/board.js";
import { tick } from "../../lib/clock.js";
import { Gone, Shape } from "../../lib/marks.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, reasonText } from "../../lib/shop.js";
import { elapsed, minuteText, moment } from "../../lib/times.js";
import {
  fit,
  Foot,
  isWall,
  onReopen,
  Rows,
  startWall,
  typeSize,
  useScreen,
  useTurning,
} from "../../lib/wall.js";
import { count, say, stateWord } from "../../lib/words.js";
import { PacePage } from "./page.js";
import { counted, deviation, deviationText, needs, nowFirst, standing, timeText } from "./rows.js";

// The pace board as a wall screen: what runs now, past its plan first, then the
// operations that are furthest from their plan.

const lineHeight = 1.2; // em, the same in wall.css
const rules = 0.5; // em, what the lines between the blocks take at most
const mostOps = 20; // further ones are for the page to work with

function measure() {
  const px = typeSize();
  const em = innerWidth / px,
    high = Math.floor((innerHeight - px * rules) / (px * lineHeight));
  const form = em >= 54 ? "wide" : em >= 34 ? "middle" : em >= 19 ? "slim" : "narrow";
  return { form, lines: Math.max(3, high - (form === "narrow" ? 4 : 2)) };
}

// Stand says in few words where a row stands against its plan.
function Stand({ row, t, form }) {
  const s = standing(row, t);
  if (row.state === "stopped")
    return html`<${Shape} kind="stop" />${say("state.stopped")} <${Gone} since=${row.since} />`;
  if (s.past > 0)
    return html`
      <${Shape} kind="late" />
      ${s.all
        ? say("pace.wall.all-made")
        : form === "narrow"
          ? elapsed(s.past)
          : say("past", elapsed(s.past))}
    `;
  if (row.ends) return say("pace.wall.ends", minuteOrDay(row.ends, t));
  return stateWord(row.state);
}

const minuteOrDay = (iso, t) =>
  Date.parse(iso) - t < 12 * 3600e3 ? minuteText(Date.parse(iso)) : moment(iso);

function NowBlock({ b }) {
  const t = useComputed(() => Math.floor(tick.value / 10000) * 10000),
    row = b.row;
  const made =
    row.state === "stopped"
      ? reasonText(row.reason, "stop")
      : row.state === "setting"
        ? say("state.setting")
        : say("pace.made", row.made, row.of);
  return html`<p
    class="wall-pace"
    data-test="wall-now"
    data-card=${row.card}
    data-past=${standing(row, t.value).past > 0 ? 1 : 0}>
    <span class="name"><b>${row.machine}</b> ${row.works_order || row.card}</span>
    <span>${made}</span>
    <span class=${standing(row, t.value).past > 0 ? "end needs" : "end"}>
      <${Stand} row=${row} t=${t.value} form=${b.form} />
    </span>
  </p>`;
}

function OpBlock({ b }) {
  const r = b.row,
    name = b.several ? say("pace.wall.route-op", r.route_rev, r.operation) : say("pace.wall.op", r.operation);
  const time = (name, planned, s) =>
    planned > 0 &&
    s.n > 0 &&
    html`<span>${say("pace.wall." + name, timeText(s.mean_s), timeText(planned))}</span>`;
  return html`<p class="wall-pace op" data-test="wall-op" data-part=${r.part} data-operation=${r.operation}>
    <span class="name"><b>${r.part}</b> ${name}</span>
    <b class="end">${deviationText(r)}</b>
    ${time("setup", r.plan_setup_s, r.setup)}
    ${time("piece", r.plan_piece_s, r.piece)}
  </p>`;
}

const HeadBlock = ({ b }) => html`<h2 class="wall-past-head">${b.text}</h2>`;
const MoreBlock = ({ b }) =>
  html`<p class="wall-past" data-test="wall-more">
    ${[b.runs > 0 && count("pace.wall.more-runs", b.runs), b.ops > 0 && count("pace.wall.more-ops", b.ops)]
      .filter(Boolean)
      .join(", ")}
  </p>`;
const more = (left) => ({
  kind: MoreBlock,
  key: "more",
  lines: 1,
  need: Infinity,
  runs: left.filter((b) => b.kind === NowBlock).length,
  ops: left.filter((b) => b.kind === OpBlock).length,
});

// blocksOf makes the blocks: what needs someone goes last when there is no
// room, and an operation before anything that runs.
function blocksOf(list, form, t) {
  const off = (r) => Math.abs(deviation(r) ?? 0);
  const now = list.filter((r) => r.kind === "now").sort(nowFirst(t));
  const ops = list
    .filter((r) => r.kind === "op" && Math.round(off(r) * 100) > 0)
    .sort((a, b) => off(b) - off(a) || counted(b) - counted(a))
    .slice(0, mostOps);
  const high = { wide: [1, 1], middle: [1, 2], slim: [2, 3], narrow: [2, 2] }[form];
  const blocks = now.map((row, i) => ({
    kind: NowBlock,
    key: row.key,
    row,
    form,
    lines: high[0],
    need: (needs(row, t) ? 1e6 : 1e3) - i,
  }));
  if (now.length === 0)
    blocks.push({ kind: HeadBlock, key: "none", text: say("pace.nothing-runs"), lines: 1, need: 1e9 });
  blocks.push({
    kind: HeadBlock,
    key: "ops",
    text: say(ops.length ? "pace.wall.ops" : "pace.wall.no-ops", about.value.days),
    lines: form === "narrow" ? 2 : 1,
    need: 1e9,
  });
  const several = (r) =>
    list.some((x) => x.kind === "op" && x.part === r.part && x.route_rev !== r.route_rev);
  return [
    ...blocks,
    ...ops.map((row, i) => ({
      kind: OpBlock,
      key: row.key,
      row,
      several: several(row),
      lines: high[1],
      need: 100 - i,
    })),
  ];
}

// Head has room for all of it on a wide screen; on a narrow one for what needs
// someone.
function Head({ list, t, page, of, form }) {
  const now = list.filter((r) => r.kind === "now"),
    past = now.filter((r) => standing(r, t).past > 0).length;
  const stopped = form === "wide" || form === "middle" ? now.filter((r) => r.state === "stopped").length : 0;
  const said = [
    (form !== "narrow" || !past) && count("pace.on-now", now.length),
    past > 0 && count("pace.past-plan", past),
    stopped > 0 && count("pace.stopped", stopped),
  ].filter(Boolean);
  const pages =
    form === "slim" || form === "narrow" ? say("pace.wall.page", page, of) : say("wall.page", page, of);
  return html`<div class="wall-head">
    <h1 data-test="wall-total">${said.join(", ")}</h1>
    <span data-test="wall-page">${of > 1 ? pages : ""}</span>
  </div>`;
}

function PaceWall() {
  const size = useScreen(measure),
    page = useTurning();
  const t = useComputed(() => Math.floor(tick.value / 10000) * 10000);
  if (!about.value) return html`<p class="wall-out">${stale() || say("loading")}</p>`;
  const list = Object.values(rows.value),
    pages = fit(blocksOf(list, size.form, t.value), size.lines, more),
    at = page % pages.length;
  return html`<div class=${"wall-board " + size.form}>
    <${Head} list=${list} t=${t.value} page=${at + 1} of=${pages.length} form=${size.form} />
    <${Rows} blocks=${pages[at]} />
    <${Foot}
      kinds=${size.form === "narrow" ? ["late"] : ["late", "stop"]}
      words=${{ late: "pace.past-word", stop: "state.stopped" }}
    />
  </div>`;
}

// The pace board: a page to work with, or with ?wall=1 a wall screen.

if (isWall()) {
  startWall(PaceWall, "pace");
} else {
  start(PacePage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({ name: "pace", onReopen });
  });
}
