// Figures before and after a change: the verdict, and every batch as a dot on
// one scale.
import { html, useEffect } from "../../lib/vendor/ui.js";
import { dotKeys, steps } from "../../lib/charts.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { useAnswer } from "../../lib/form.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { partsList, revsOf } from "./form.js";
import { hours, minutes, num, NumberField, percent, Pick, PrintButton, Tabs, Verdict, Warn } from "./text.js";

/**
 * @typedef {import("./state.js").Schema} Schema
 * @typedef {Schema["Change"]} Change
 * @typedef {Schema["Changes"]} Changes
 * @typedef {Schema["Side"]} Side
 * @typedef {(x: number) => string} Text
 */

/** @type {Record<string, Text>} */
const texts = {
  lead: hours,
  minutes,
  setup: minutes,
  yield: percent,
  metres: (x) => say("compare.m", num(x, 0)),
  trips: (x) => num(x, x % 1 ? 1 : 0),
};
/** @type {Record<Change["verdict"], string>} */
const kinds = {
  better: "better",
  worse: "worse",
  "can't tell yet": "either",
  "no difference that matters": "same",
};
/** @param {Change} f */
const kindOf = (f) => kinds[f.verdict] || "either";
/**
 * @param {Change} f
 * @returns {Text}
 */
const textOf = (f) => texts[f.what] || num;
const sides = /** @type {const} */ (["before", "after"]);

/**
 * rowsOf lays dots so that equal ones stand beside one another: [x, y] with y
 * from 0 up, by how many lie there already.
 * @param {number[]} values
 * @param {number} from
 * @param {number} to
 */
function stacked(values, from, to) {
  const taken = new Map();
  return values.map((v) => {
    const bin = Math.round((90 * (v - from)) / Math.max(1e-12, to - from)),
      n = taken.get(bin) || 0;
    taken.set(bin, n + 1);
    return n;
  });
}

const lane = 74,
  foot = 22,
  r = 4.5;

/**
 * @param {{
 *   side: Side, y: number, at: (x: number) => string, text: Text, name: string, from: number,
 *   to: number, stop?: boolean
 * }} props
 */
function Lane({ side, y, at, text, name, from, to, stop }) {
  const up = stacked(side.values, from, to),
    most = Math.max(1, ...up),
    step = Math.min(9, (lane - 40) / most);
  return html`<g data-test="lane">
    <text class="lane-name" x="0" y=${y + 13}>${name}</text>
    <line class="axis" x1="0" x2="100%" y1=${y + lane - 8} y2=${y + lane - 8} />
    ${side.values.map(
      (v, i) =>
        html`<a
          key=${i}
          href=${"/batch/" + side.cards[i]}
          tabindex=${stop && i === 0 ? "0" : "-1"}
          data-test="dot">
          <title>${side.cards[i]}: ${text(v)}</title>
          <circle class="dot" cx=${at(v)} cy=${y + lane - 14 - step * up[i]} r=${r} />
        </a>`,
    )}
    ${side.median !== null &&
    html`<line class="median" x1=${at(side.median)} x2=${at(side.median)} y1=${y + 18} y2=${y + lane - 2} />`}
  </g>`;
}

/** @param {{f: Change, v: Changes}} props */
function Dots({ f, v }) {
  const text = textOf(f),
    all = [...f.before.values, ...f.after.values];
  if (all.length === 0) return html`<p class="empty">${say("change.nothing")}</p>`;
  const low = Math.min(...all),
    high = Math.max(...all),
    room = (high - low || Math.abs(high) || 1) * 0.05,
    from = f.what === "yield" ? low - room : Math.max(0, Math.min(low - room, low * 0.5)),
    to = high + room;
  const at = (/** @type {number} */ x) => `${(100 * (x - from)) / (to - from)}%`,
    ticks = steps(to, f.what === "lead" && to > 72 ? 24 : 1).filter((t) => t >= from && t <= to);
  const list =
    f.what === "yield" ? [0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1].filter((t) => t >= from && t <= to) : ticks;
  const label = say("change.dots", say("change.f." + f.what), f.before.n, f.after.n);
  return html`<svg
    class="chart dots"
    role="group"
    aria-label=${label}
    width="100%"
    height=${2 * lane + foot}
    onKeyDown=${dotKeys}>
    <title>${label}</title>
    ${list.map(
      (t, i) =>
        html`<g key=${t} class=${i % 2 ? "tick odd" : "tick"}>
          <line x1=${at(t)} x2=${at(t)} y1="16" y2=${2 * lane} />
          <text
            x=${at(t)}
            y=${2 * lane + 15}
            text-anchor=${(t - from) / (to - from) > 0.95
              ? "end"
              : (t - from) / (to - from) < 0.03
                ? "start"
                : "middle"}>
            ${text(t)}
          </text>
        </g>`,
    )}
    <${Lane}
      side=${f.before}
      stop
      y=${0}
      at=${at}
      text=${text}
      from=${from}
      to=${to}
      name=${lineOf("change.lane", v.before, f.before, text)}
    />
    <${Lane}
      side=${f.after}
      stop=${f.before.values.length === 0}
      y=${lane}
      at=${at}
      text=${text}
      from=${from}
      to=${to}
      name=${lineOf("change.lane", v.after, f.after, text)}
    />
  </svg>`;
}

/** @type {(key: string, rev: string, side: Side, text: Text) => string} */
const lineOf = (key, rev, side, text) =>
  side.median === null ? say("change.lane.none", rev) : say(key, rev, side.n, text(side.median));

/**
 * difference says a ratio as so much more or less.
 * @param {Change} f
 */
function difference(f) {
  if (f.ratio === null) return say("change.no-ratio");
  const part = (/** @type {number} */ x) => (x >= 1 ? "+" : "−") + percent(Math.abs(x - 1), 0);
  return f.low === null || f.high === null
    ? say("change.ratio", part(f.ratio))
    : say("change.ratio.in", part(f.ratio), part(f.low), part(f.high));
}

/**
 * more says what else is to be known: whether the difference may be too small to
 * matter, or how many batches it takes to tell.
 * @param {Change} f
 * @param {Changes} v
 */
function more(f, v) {
  const small = percent(f.smallest, 0),
    sure = ["better", "worse"].includes(kindOf(f)),
    { low, high } = f;
  if (sure && low !== null && high !== null && Math.min(Math.abs(low - 1), Math.abs(high - 1)) < f.smallest)
    return say("change.may-be-small", small);
  if (kindOf(f) !== "either") return "";
  if (f.more >= 1000) return say("change.more.never", small);
  return f.more > 0 ? count("change.more", f.more, v.after, small) : "";
}

/**
 * Means are the averages, as a comparison shows them: the dots and their median
 * are batches, and an average of a good piece is that of all pieces.
 * @param {{f: Change, v: Changes}} props
 */
function Means({ f, v }) {
  const text = textOf(f),
    mean = (/** @type {Side} */ side) => (side.mean === null ? say("none") : text(side.mean));
  return html`<p class="soft" data-test="means">
    ${say("change.mean", v.before, mean(f.before), v.after, mean(f.after))}${" "}
    ${f.adjusted && v.mix.size > 0 ? say("change.adjusted", num(v.mix.size, 0)) : ""}
  </p>`;
}

/** @param {{f: Change, v: Changes}} props */
function Figure({ f, v }) {
  const rows = () => sides.flatMap((s) => f[s].values.map((x, i) => [v[s], f[s].cards[i], x]));
  const left = f.before.excluded + f.after.excluded;
  return html`<section class="changed" data-test="changed" data-what=${f.what} data-verdict=${kindOf(f)}>
    <h2>${say("change.f." + f.what)} <${Verdict} kind=${kindOf(f)} /></h2>
    <p>${difference(f)} ${more(f, v)}</p>
    <${Means} f=${f} v=${v} />
    ${f.bad_run && html`<${Warn} test="bad-run">${say("change.bad-run")}<//>`}
    <${Dots} f=${f} v=${v} />
    <p class="soft">${left > 0 ? count("change.excluded", left) : ""}</p>
    <details>
      <summary>${say("table")}</summary>
      <table>
        <tbody>
          ${sides.map(
            (s) =>
              html`<tr key=${s}>
                <th scope="row">${say("compare.route", v[s])}</th>
                <td class="n">${count("batches.n", f[s].n)}</td>
                <td>
                  ${f[s].values.map(
                    (x, i) =>
                      html`
                        <a key=${i} class="dot-link" href=${"/batch/" + f[s].cards[i]}>${textOf(f)(x)}</a> `,
                  )}
                </td>
              </tr>`,
          )}
        </tbody>
      </table>
      <${CsvButton}
        name=${"change-" + f.what}
        head=${["route", "card", f.what + (f.unit ? "_" + f.unit : "")]}
        rows=${rows}
      />
    </details>
  </section>`;
}

/**
 * Changed is all of it: what can be said in a sentence, then figure by figure.
 * @param {{v: Changes}} props
 */
function Changed({ v }) {
  const by = (/** @type {string} */ k) =>
      v.figures.filter((f) => kindOf(f) === k).map((f) => say("change.f." + f.what).toLowerCase()),
    list = (/** @type {string} */ k) => by(k).join(", ");
  return html`
    <section data-test="change-answer">
      <h2>${say("change.answer", v.before, v.after, v.part)}</h2>
      <ul class="notes-list">
        ${["better", "worse", "same", "either"]
          .filter((k) => by(k).length)
          .map((k) => html`<li key=${k}><${Verdict} kind=${k} />: ${list(k)}</li>`)}
      </ul>
      ${v.figures.some((f) => f.bad_run) &&
      html`<${Warn} test="bad-run-all">
        ${say(
          "change.bad-run-all",
          v.figures
            .filter((f) => f.bad_run)
            .map((f) => say("change.f." + f.what).toLowerCase())
            .join(", "),
        )}
      <//>`}
      ${v.mix.differ &&
      html`<${Warn} test="mix">
        ${say("change.mix", v.before, num(v.mix.before, 0), v.after, num(v.mix.after, 0), num(v.mix.size, 0))}
      <//>`}
      <p data-test="looks">${count("change.looks", v.looks)} ${say("change.looks.why")}</p>
      <p class="soft">${say("change.how", v.few)}</p>
    </section>
    <div class="changed-grid">${v.figures.map((f) => html`<${Figure} key=${f.what} f=${f} v=${v} />`)}</div>
  `;
}

// Before and after: did a change of route do what it should?

// asked is the choice with what it leaves out: the first part with two routes,
// and its two newest.
function asked() {
  const c = chosen.value,
    two = partsList().filter(([p]) => revsOf(p).length > 1);
  const part = c.part && revsOf(c.part).length > 1 ? c.part : two.length ? two[0][0] : "",
    revs = part ? revsOf(part) : [];
  const after = revs.includes(c.after) ? c.after : revs.at(-1),
    before =
      revs.includes(c.before) && c.before !== after ? c.before : revs.filter((r) => r !== after).at(-1);
  const smallest = Number(c.smallest) > 0 ? Number(c.smallest) : 10;
  return { part, before, after, smallest, parts: two, wrong: c.part && c.part !== part };
}

/** @param {{a: ReturnType<typeof asked>}} props */
function Form({ a }) {
  const revs = revsOf(a.part),
    options = (/** @type {string | undefined} */ but) =>
      revs.filter((r) => r !== but).map((r) => [r, say("compare.route", r)]);
  return html`<form class="ask" onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
    <div class="fields">
      <${Pick}
        label=${say("filter.part")}
        test="part"
        wide
        value=${a.part}
        options=${a.parts}
        set=${(/** @type {string} */ part) => choose({ part, before: "", after: "" })}
      />
      <${Pick}
        label=${say("change.before")}
        test="before"
        value=${a.before}
        options=${options(a.after)}
        set=${(/** @type {string} */ before) => choose({ before, after: a.after })}
      />
      <${Pick}
        label=${say("change.after")}
        test="after"
        value=${a.after}
        options=${options(a.before)}
        set=${(/** @type {string} */ after) => choose({ after, before: a.before })}
      />
      <${NumberField}
        label=${say("change.smallest")}
        test="smallest"
        value=${a.smallest}
        min=${1}
        max=${100}
        set=${(/** @type {number} */ smallest) => choose({ smallest })}
        hint=${say("change.smallest.why")}
      />
    </div>
  </form>`;
}

/** @param {ReturnType<typeof asked>} a */
const choiceOf = (a) => ({
  part: a.part,
  before: a.before ?? "",
  after: a.after ?? "",
  smallest: String(a.smallest / 100),
});

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const a = shop.value ? asked() : null;
  const { value: v, problem } = useAnswer(a?.part && `/api/v1/changes?${new URLSearchParams(choiceOf(a))}`);
  const head = html`<h1>${say("change.title")}</h1><${Tabs} part=${a ? a.part : ""} />`;
  if (!a) return html`${head}<p class="soft">${say("loading")}</p>`;
  if (!a.part) return html`${head}<p class="empty">${say("change.no-parts")}</p>`;
  return html`
    ${head}
    <${PrintButton} />
    <${Form} a=${a} />
    ${a.wrong && html`<p class="notice">${say("change.one-route", chosen.value.part)}</p>`}
    ${problem && html`<p class="problem" data-test="failed">${problem}</p>`}
    ${v ? html`<${Changed} v=${v} />` : html`<p class="soft">${say("loading")}</p>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
