// Why a batch waits: worked out of the lines that come with the waits board, by the
// page's clock, and said in its language. The rules are those of traveler/board/why.go;
// its cases hold both to the same.
import { reasonText } from "./shop.js";
import { dateText, dayOf, moment } from "./times.js";
import { known, locale, say } from "./words.js";

/**
 * @typedef {import("./_types.js").Schema["Row"]} Row
 * @typedef {import("./_types.js").Schema["WaitLine"]} WaitLine
 * @typedef {import("./_types.js").Schema["AtMachine"]} AtMachine
 * @typedef {import("./_types.js").Schema["WaitReason"]} WaitReason
 */

/** @type {(iso: string | undefined) => number} */
const at = (iso) => (iso ? Date.parse(iso) : 0);

/**
 * why lists the reasons that a row waits for at t, what someone said first; none for
 * what is worked on.
 * @param {Row} row
 * @param {WaitLine | null | undefined} line of its work centre
 * @param {number} t
 * @returns {WaitReason[]}
 */
export function why(row, line, t) {
  if (row.kind === "work") return atMachine(row, t);
  if (row.state === "held") return [said("held", row.reason)];
  const out = row.reason ? [said("said", row.reason)] : [];
  for (const thing of row.not_ready ?? []) out.push({ key: "missing", text: thing });
  if (row.state === "review") return [...out, { key: "decide" }];
  if (row.let_of) out.push({ key: "before", operation: row.before, let_go: row.let_go, let_of: row.let_of });
  if (!line || line.machines.length === 0) return [...out, { key: "noplace", work_centre: row.work_centre }];
  return [...out, ...inLine(row, line, t)];
}

/** @type {(key: string, text: string | undefined) => WaitReason} */
const said = (key, text) => (text ? { key, text } : { key });

/** @type {(row: Row, t: number) => WaitReason[]} */
function atMachine(row, t) {
  switch (row.state) {
    case "outside": {
      const key = row.over_from && t >= at(row.over_from) ? "out.over" : "out";
      return [row.over_from ? { key, at: row.over_from } : { key }];
    }
    case "firstoff":
      return [{ key: "firstoff" }];
    case "ready":
      return [{ key: "passed" }];
    case "stopped":
      return [said("stopped", row.reason)];
  }
  return [];
}

/** @type {(m: AtMachine, t: number) => boolean} */
const isClosed = (m, t) => Boolean(m.shut) || (Boolean(m.opens) && t < at(m.opens) && t >= at(m.closes));

/** @type {(row: Row, line: WaitLine, t: number) => WaitReason[]} */
function inLine(row, line, t) {
  const open = line.machines.filter((m) => !isClosed(m, t)),
    place = line.order.indexOf(row.key) + 1;
  const sends = open.find((m) => m.outside);
  if (sends) return [{ key: "send", machine: sends.machine }];
  const idle = open.filter((m) => m.state === "free");
  const own = idle.find((m) => m.machine === row.machine) ?? idle[place - 1];
  /** @type {WaitReason} */
  const first = { key: "line", ...(place ? { place } : {}), work_centre: line.work_centre };
  if (line.machines.length === 1) first.machine = line.machines[0].machine;
  if (place > 0 && place <= idle.length)
    // What someone said, or what is missing, stands in its way.
    return row.reason || row.not_ready?.length
      ? [first, { key: "idle", machine: own.machine }]
      : [{ key: "free", machine: own.machine }];
  if (open.length === 0) return [first, opens(line)];
  if (idle.length > 0) return [first, { key: "idle", machine: idle[0].machine }];
  return [first, freeFirst(open, t)];
}

/** @type {(line: WaitLine) => WaitReason} */
function opens(line) {
  const times = line.machines.flatMap((m) => (m.opens ? [m.opens] : []));
  if (times.length === 0) return { key: "closed", work_centre: line.work_centre };
  return { key: "opens", work_centre: line.work_centre, at: times.reduce((a, b) => (at(b) < at(a) ? b : a)) };
}

const ranks = ["busy", "longer", "atwork", "atfirst", "down"];

/** @type {(m: AtMachine, t: number) => WaitReason} */
function busyWith(m, t) {
  const machine = m.machine;
  if (m.state === "stopped") return { ...said("down", m.reason), machine };
  if (m.state === "firstoff") return { key: "atfirst", machine };
  if (!m.until) return { key: "atwork", machine };
  if (t >= at(m.until) || (m.set_until && t >= at(m.set_until))) return { key: "longer", machine };
  return { key: "busy", machine, at: m.until };
}

/** @type {(open: AtMachine[], t: number) => WaitReason} */
const freeFirst = (open, t) =>
  open
    .map((m) => busyWith(m, t))
    .reduce((a, b) => {
      const by = ranks.indexOf(b.key) - ranks.indexOf(a.key);
      return by < 0 || (by === 0 && b.key === "busy" && at(b.at) < at(a.at)) ? b : a;
    });

const ordinal = new Intl.PluralRules(locale, { type: "ordinal" });

/**
 * nth is a place in line: 1st, 2nd, 3rd.
 * @param {number} n
 */
const nth = (n) => known("nth-" + ordinal.select(n), say("nth-other", n), n);

const soon = 36 * 3600e3; // ms within which a time of day says more than a date

/** @type {(iso: string | undefined, t: number) => string} */
const when = (iso, t) => {
  const ms = at(iso);
  return Math.abs(ms - t) < soon ? moment(ms) : dateText(dayOf(ms));
};

/** @type {Record<string, (r: WaitReason, t: number) => string>} */
const sentences = {
  said: (r) => reasonText(r.text, "wait", "stop", "review", "rework"),
  missing: (r) => say("why.missing", reasonText(r.text, "ready")),
  held: (r) => also(say("state.held"), r.text, "wait"),
  stopped: (r) => also(say("state.stopped"), r.text, "stop"),
  out: (r, t) => (r.at ? say("why.out", when(r.at, t)) : say("state.outside")),
  "out.over": (r, t) => say("why.out-over", when(r.at, t)),
  before: (r) => say("why.before", r.operation, r.let_go, r.let_of),
  noplace: (r) => say("why.noplace", r.work_centre),
  free: (r) => say("why.free", r.machine),
  line: (r) =>
    r.place
      ? say("why.line", nth(r.place), r.machine || r.work_centre)
      : say("why.line-far", r.machine || r.work_centre),
  opens: (r) => say("why.opens", moment(r.at)),
  busy: (r, t) => say("why.busy", when(r.at, t)),
  down: (r) => also(say("state.stopped"), r.text, "stop"),
};

/** @type {(what: string, text: string | undefined, kind: string) => string} */
const also = (what, text, kind) => (text ? `${what}: ${reasonText(text, kind)}` : what);

/**
 * whySentences says reasons one by one. What a line's only machine is at needs no name.
 * @param {WaitReason[]} reasons
 * @param {number} t
 */
export const whySentences = (reasons, t) =>
  reasons.map((r) => {
    const said = (sentences[r.key] ?? (() => say("why." + r.key)))(r, t);
    const named = ranks.includes(r.key) || r.key === "idle";
    return named && !reasons.some((x) => x.key === "line" && x.machine === r.machine)
      ? `${r.machine} ${said}`
      : said;
  });

/**
 * whyText says reasons in one line.
 * @param {WaitReason[]} reasons
 * @param {number} t
 */
export const whyText = (reasons, t) => whySentences(reasons, t).filter(Boolean).join(", ");

/**
 * beyondMarks says reasons one by one beside the marks of a row, without what those say
 * already.
 * @param {WaitReason[]} reasons
 * @param {number} t
 */
export const beyondMarks = (reasons, t) =>
  whySentences(reasons, t)
    .map((text, i) =>
      ["held", "stopped"].includes(reasons[i].key) ? reasonText(reasons[i].text, "stop", "wait") : text,
    )
    .filter(Boolean);
