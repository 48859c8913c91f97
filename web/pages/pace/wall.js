// The pace board as a wall screen: what is past its plan and by how much, what stands
// still, then what else runs; and beside it the operations that are furthest from their
// plan. From far only what is past its plan, and what else runs where there is room.
import { html } from "../../lib/vendor/ui.js";
import { boards } from "../../lib/board.js";
import { conditions, needsOf, needText, needWord } from "../../lib/needs.js";
import { reasonText } from "../../lib/shop.js";
import { coarse, elapsed, minuteText, moment } from "../../lib/times.js";
import { fitColumns, namesOf, runsAndRest } from "../../lib/wall-fit.js";
import { headLine, linesFor, WallLines } from "../../lib/wall.js";
import { hotSpec, legend, More, WallPages } from "../../lib/wall-page.js";
import { count, say, stateWord } from "../../lib/words.js";
import { counted, deviation, deviationText, nowFirst, standing, timeText } from "./rows.js";

const { about } = boards.pace;

/**
 * @typedef {import("./rows.js").Now} Now
 * @typedef {import("./rows.js").Op} Op
 * @typedef {import("./rows.js").Row} Row
 * @typedef {import("../../lib/wall.js").Glass} Glass
 * @typedef {ReturnType<typeof runsOf>[number]} Run
 * @typedef {ReturnType<typeof opsOf>[number]} OpLine
 * @typedef {import("../../lib/wall-fit.js").Page<Run, OpLine>} Page
 * @typedef {ReturnType<typeof layOut>} Laid
 */

const mostOps = 20; // further ones are for the page to work with

/**
 * @param {string} iso
 * @param {number} t
 */
const minuteOrDay = (iso, t) =>
  Date.parse(iso) - t < 12 * 3600e3 ? minuteText(Date.parse(iso)) : moment(iso);

/**
 * kindOf is the mark of a row on this wall: past its plan, or standing still, before all
 * else that it may need someone for.
 * @param {Now} row
 * @param {number} t
 */
function kindOf(row, t) {
  const kinds = needsOf(row, t);
  return ["over", "stop"].find((k) => kinds.includes(k)) ?? kinds[0] ?? "";
}

/**
 * stand says in few words where a row stands against its plan; in fewer where those have no
 * room.
 * @param {Run} x
 * @param {number} t
 * @param {number} room
 * @param {import("../../lib/wall-fit.js").Width} width
 */
function stand(x, t, room, width) {
  const full = inWords(x, t);
  return width(full) <= room ? full : briefly(x, t);
}

/**
 * @param {Pick<Run, "row" | "kind">} run
 * @param {number} t
 */
function briefly({ row, kind }, t) {
  if (kind === "over") return standing(row, t).all ? "" : coarse(standing(row, t).past);
  if (kind === "stop") return coarse(t - Date.parse(row.since));
  return !kind && row.ends ? moment(row.ends) : "";
}

/**
 * @param {Pick<Run, "row" | "kind">} run
 * @param {number} t
 */
function inWords({ row, kind }, t) {
  const s = standing(row, t);
  if (kind === "over") return s.all ? say("pace.wall.all-made") : say("past", elapsed(s.past));
  if (kind === "stop") return `${say("state.stopped")} ${elapsed(t - Date.parse(row.since))}`;
  if (kind && kind !== "ask") return needText(kind, row, about.value?.today ?? "", t);
  if (row.ends && row.state !== "stopped") return say("pace.wall.ends", minuteOrDay(row.ends, t));
  return stateWord(row.state);
}

/** @param {{row: Now}} run */
const doing = ({ row }) =>
  row.state === "stopped"
    ? reasonText(row.reason, "stop")
    : row.state === "running"
      ? say("pace.made", row.made, row.of)
      : stateWord(row.state);

/**
 * runsOf lists what runs now, what is past its plan first.
 * @param {Row[]} list
 * @param {number} t
 */
function runsOf(list, t) {
  const now = list.filter((r) => r.kind === "now"),
    named = namesOf(now);
  return now.sort(nowFirst(t)).map((row) => {
    const kind = kindOf(row, t);
    return { row, kind, late: kind === "over" || Boolean(row.late), ...named(row) };
  });
}

/**
 * runColumns chooses what is said of each run: of all alike, or from far of each what fits.
 * @param {Run[]} list
 * @param {Glass} g
 * @param {number} t
 * @returns {(x: Run) => import("../../lib/wall-fit.js").Column<Run>[]}
 */
function runColumns(list, g, t) {
  const gap = 0.5 * g.px,
    machine = Math.max(0, ...list.map((x) => g.width(x.row.machine, true))),
    room = g.w - 1.1 * g.px - machine - 2 * gap;
  /** @type {import("../../lib/wall-fit.js").Spec<Run>[]} */
  const specs = [
    { key: "mark", wide: (x) => (x.kind || !g.far ? 1.1 * g.px : 0), drop: 0 },
    { key: "machine", text: (x) => x.row.machine, wide: () => machine, bold: true, drop: 0 },
    hotSpec(g),
    { key: "stand", text: (x) => stand(x, t, room, g.width), drop: 0 },
    { key: "name", text: (x) => x.name, drop: 1 },
    { key: "beside", text: (x) => x.beside, drop: 3 },
    { key: "doing", text: doing, drop: 2 },
  ];
  if (g.far) return (x) => fitColumns([x], specs, g.w, gap, g.width).used;
  const { used } = fitColumns(list, specs, g.w, gap, g.width);
  return () => used;
}

/** @param {Run} x */
const runData = (x) => ({
  "data-test": "wall-now",
  "data-card": x.row.card,
  "data-late": x.late ? 1 : 0,
  "data-past": x.kind === "over" ? 1 : 0,
});

/**
 * opsOf lists the operations furthest from their plan, and what is said of each.
 * @param {Row[]} list
 */
function opsOf(list) {
  const ops = list.filter((r) => r.kind === "op");
  const off = (/** @type {Op} */ r) => Math.abs(deviation(r) ?? 0);
  const several = (/** @type {Op} */ r) => ops.some((x) => x.part === r.part && x.route_rev !== r.route_rev);
  return ops
    .filter((r) => Math.round(off(r) * 100) > 0)
    .sort((a, b) => off(b) - off(a) || counted(b) - counted(a))
    .slice(0, mostOps)
    .map((row) => ({
      row,
      lines: 1,
      name: several(row)
        ? say("pace.wall.route-op", row.route_rev, row.operation)
        : say("pace.wall.op", row.operation),
    }));
}

/** @type {(name: string, planned: number, s: import("./rows.js").Figures) => string} */
const time = (name, planned, s) =>
  planned > 0 && s.n > 0 ? say("pace.wall." + name, timeText(s.mean_s), timeText(planned)) : "";

/**
 * opColumns chooses what is said of the operations, of all alike.
 * @param {OpLine[]} list
 * @param {Glass} g
 */
function opColumns(list, g) {
  /** @type {import("../../lib/wall-fit.js").Spec<OpLine>[]} */
  const specs = [
    { key: "part", text: (x) => x.row.part, bold: true, drop: 0 },
    { key: "name", text: (x) => x.name, drop: 0 },
    { key: "off", text: (x) => deviationText(x.row), drop: 0 },
    { key: "setup", text: (x) => time("setup", x.row.plan_setup_s, x.row.setup), drop: 2 },
    { key: "piece", text: (x) => time("piece", x.row.plan_piece_s, x.row.piece), drop: 1 },
  ];
  const { used } = fitColumns(list, specs, g.w, 0.5 * g.px, g.width);
  return () => used;
}

/** @param {OpLine} x */
const opData = (x) => ({
  "data-test": "wall-op",
  "data-part": x.row.part,
  "data-operation": x.row.operation,
});

/**
 * opsFit leaves out operations that are too wide for a screen at all.
 * @param {OpLine[]} ops
 * @param {Glass} g
 */
const opsFit = (ops, g) =>
  g.far ? [] : ops.filter((x) => g.width(`${x.row.part} ${x.name} ${deviationText(x.row)}`) + g.px < g.w);

/**
 * @param {Run[]} runs
 * @param {Glass} g
 * @param {number} page
 * @param {number} of
 */
function headOf(runs, g, page, of) {
  const n = (/** @type {string} */ k) => runs.filter((x) => x.kind === k).length;
  const said = /** @type {string[]} */ (
    [
      n("over") > 0 && `${n("over")} ${needWord("over")}`,
      n("stop") > 0 && count("pace.stopped", n("stop")),
      count("pace.on-now", runs.length),
    ].filter(Boolean)
  );
  return [...headLine(g, said), ...(of > 1 ? [say("of", page, of)] : [])];
}

/**
 * @param {Glass} g
 * @param {Row[]} list
 * @param {number} t
 */
function layOut(g, list, t) {
  const runs = runsOf(list, t),
    ops = opsFit(opsOf(list), g);
  // On a wide wall from far a mark stands beside its word, and needs no legend.
  const marks = g.far && g.w > 14 * g.px ? [] : conditions.filter((k) => runs.some((x) => x.kind === k)),
    kinds = legend(g, marks, runs);
  const lines = linesFor(g, headOf(runs, g, 3, 3), kinds);
  return { runs, ops, kinds, pages: runsAndRest(runs, ops, { lines, head: 1 }) };
}

/** @type {(laid: Laid, page: Page, g: Glass, t: number) => unknown} */
const view = ({ runs, ops }, page, g, t) => html`
  <${WallLines} list=${page.a} columns=${runColumns(runs, g, t)} data=${runData} />
  <${More} n=${page.more} />
  ${page.b.length > 0 &&
  html`
    <h2>${say("pace.wall.ops", about.value?.days ?? 0)}</h2>
    <${WallLines} list=${page.b} columns=${opColumns(ops, g)} data=${opData} />
  `}
  ${runs.length === 0 && ops.length === 0 && html`<p>${say("pace.nothing-runs")}</p>`}
`;

/** @type {(laid: Laid, g: Glass, page: number, of: number) => string[]} */
const said = ({ runs }, g, page, of) => headOf(runs, g, page, of);

export const Wall = () =>
  html`<${WallPages} board=${boards.pace} layOut=${layOut} said=${said} view=${view} />`;
