// Which dates to say to a customer who asks: for parts, pieces, and from when. The
// enquiry stands in the address. Nothing is put on the floor.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { CsvButton } from "../../lib/csv.js";
import { choose, chosen } from "../../lib/filters.js";
import { number } from "../../lib/numbers.js";
import { failed, me, note, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { dateText, span } from "../../lib/times.js";
import { count, say } from "../../lib/words.js";
import { useFresh, useScenario } from "./fresh.js";
import { chanceText, Day, dayText, Going, Moved, NoDates, Sides } from "./parts.js";
import { enquiryOf, readJSON } from "./scenario.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("./scenario.js").Enquiry} Asking
 * @typedef {import("./scenario.js").Line} AskingLine
 * @typedef {Schema["Promise"]} Promised
 * @typedef {Schema["EnquiryAsk"]} Asked
 * @typedef {typeof sure[number]} Sure
 * Dated is a line with its dates, or all lines together.
 * @typedef {Partial<Schema["NewBatch"]> & Schema["Dates"]} Dated
 */

/** @type {AskingLine} */
const blank = { part: "", pieces: "", due: "" };

// partsOf lists the shop's parts, each once, with its name.
const partsOf = () =>
  shop.value ? [...new Map(shop.value.parts.map((r) => [r.part, r.part_name || ""])).entries()] : [];

/**
 * @param {{
 *   l: AskingLine, i: number, set: (l: AskingLine) => void, remove: false | (() => void),
 *   parts: [string, string][]
 * }} props
 */
function LineFields({ l, i, set, remove, parts }) {
  const field = (/** @type {keyof AskingLine} */ k) => (/** @type {Input} */ e) =>
    set({ ...l, [k]: e.target.value });
  return html`<li class="tools" data-test="line">
    <label>
      ${say("head.part")}
      <select data-test=${"part-" + i} required onChange=${field("part")}>
        <option value="" selected=${!l.part}>${say("promise.choose-part")}</option>
        ${parts.map(
          ([p, name]) => html`<option key=${p} value=${p} selected=${p === l.part}>${p} ${name}</option>`,
        )}
      </select>
    </label>
    <label>
      ${say("promise.pieces")}
      <input
        type="number"
        min="1"
        step="1"
        required
        class="short"
        value=${l.pieces}
        data-test=${"pieces-" + i}
        onInput=${field("pieces")}
      />
    </label>
    <label>
      ${say("promise.wanted")}
      <input type="date" value=${l.due} data-test=${"due-" + i} onInput=${field("due")} />
    </label>
    ${remove &&
    html`<button type="button" class="quiet" data-test=${"remove-" + i} onClick=${remove}>
      ${say("promise.remove")}
    </button>`}
  </li>`;
}

/** @param {{given: Asking | null, go: (v: Asking) => void}} props */
function Enquiry({ given, go }) {
  const v = useSignal({ from: "", ...given, lines: given?.lines?.length ? given.lines : [blank] });
  const set = (/** @type {Partial<Asking>} */ more) => {
    v.value = { ...v.value, ...more };
  };
  const parts = partsOf();
  return html`<form
    class="enquiry"
    data-test="enquiry"
    onSubmit=${(/** @type {Event} */ e) => {
      e.preventDefault();
      go(v.value);
    }}>
    <ol>
      ${v.value.lines.map(
        (l, i) =>
          html`<${LineFields}
            key=${i}
            l=${l}
            i=${i}
            parts=${parts}
            set=${(/** @type {AskingLine} */ x) =>
              set({ lines: v.value.lines.map((y, k) => (k === i ? x : y)) })}
            remove=${v.value.lines.length > 1 &&
            (() => set({ lines: v.value.lines.filter((_, k) => k !== i) }))}
          />`,
      )}
    </ol>
    <p class="soft">${say("promise.wanted.why")}</p>
    <div class="tools">
      <button
        type="button"
        data-test="add-line"
        disabled=${v.value.lines.length >= 20}
        onClick=${() => set({ lines: [...v.value.lines, blank] })}>
        ${say("promise.add-line")}
      </button>
      <label>
        ${say("promise.from")}
        <input
          type="date"
          value=${v.value.from}
          data-test="from"
          onInput=${(/** @type {Input} */ e) => set({ from: e.target.value })}
        />
      </label>
      <button class="act" type="submit" data-test="promise-go">${say("promise.go")}</button>
    </div>
  </form>`;
}

const sure = /** @type {const} */ (["p50", "p85", "p95"]);

/** @param {{v: Promised, asked: Asked}} props */
function DatesTable({ v, asked }) {
  /** @type {(l: Dated, name: unknown, pieces: string, key: string) => unknown} */
  const row = (l, name, pieces, key) => html`<tr key=${key} data-test="promise-line" data-line=${key}>
    <th scope="row">${name} ${pieces && html`<small>${pieces}</small>`}</th>
    ${sure.map(
      (k) =>
        html`<td key=${k} data-label=${say("promise." + k)} data-test=${k}><b><${Day} t=${l[k]} /></b></td>`,
    )}
    <td data-label=${say("ahead.chance")}>
      ${l.due ? html`${chanceText(l.on_time)} <small>${dateText(l.due)}</small>` : ""}
    </td>
    <td data-label=${say("ahead.waits-for")}>
      ${l.waits_for ? html`${l.waits_for} <small>${span((l.waits_s ?? 0) * 1000)}</small>` : ""}
    </td>
  </tr>`;
  return html`<table class="stack promise">
    <thead>
      <tr>
        <th scope="col">${say("head.part")}</th>
        ${sure.map((k) => html`<th key=${k} scope="col">${say("promise." + k)}</th>`)}
        <th scope="col">${say("ahead.chance")}</th>
        <th scope="col">${say("ahead.waits-for")}</th>
      </tr>
    </thead>
    <tbody>
      ${v.lines.map((l, i) =>
        row(
          l,
          html`${l.part} <small>${l.part_name}</small>`,
          count("pieces", asked.lines[i]?.pieces || 0),
          l.card,
        ),
      )}
      ${v.lines.length > 1 && row(v.all, say("promise.all"), "", "all")}
    </tbody>
  </table>`;
}

/**
 * sentence is what to say to the customer, with the dates of one certainty.
 * @param {Promised} v
 * @param {Asked} asked
 * @param {Sure} k
 */
function sentence(v, asked, k) {
  const lines = v.lines.map((l, i) =>
    say(
      "promise.line",
      count("pieces", asked.lines[i].pieces),
      [l.part, l.part_name].filter(Boolean).join(" "),
      dayText(l[k]),
    ),
  );
  const text =
    lines.length === 1
      ? say("promise.says", lines[0])
      : say("promise.says.all", lines.join("; "), dayText(v.all[k]));
  return text.replace(/\.\.$/, "."); // of a month that ends with a full stop itself
}

/** @param {{v: Promised, asked: Asked}} props */
function Sentence({ v, asked }) {
  const k = useSignal(/** @type {Sure} */ ("p85")),
    text = sentence(v, asked, k.value);
  const copy = () =>
    navigator.clipboard
      .writeText(text)
      .then(() => note("good", say("promise.copied")))
      .catch(() => failed(new Error(say("promise.not-copied"))));
  return html`<div class="sentence">
    <fieldset class="tools">
      <legend>${say("promise.how-sure")}</legend>
      ${sure.map(
        (x) =>
          html`<label key=${x} class="check">
            <input
              type="radio"
              name="sure"
              data-test=${"sure-" + x}
              checked=${x === k.value}
              onChange=${() => {
                k.value = x;
              }}
            />
            ${say("promise." + x)}
          </label>`,
      )}
    </fieldset>
    <blockquote data-test="sentence">${text}</blockquote>
    <p class="deeds"><button data-test="copy" onClick=${copy}>${say("promise.copy")}</button></p>
  </div>`;
}

const head = ["part", "part_name", "pieces", "wanted", "p50", "p85", "p95", "on_time"];

/** @param {{v: Promised, asked: Asked}} props */
function Result({ v, asked }) {
  const dated = v.lines.every((l) => l.p50);
  return html`
    <section data-test="promised">
      <h2>${say("promise.dates")}</h2>
      <${DatesTable} v=${v} asked=${asked} />
      ${dated && html`<${Sentence} v=${v} asked=${asked} />`}
      <p class="deeds">
        <${CsvButton}
          name="promise"
          head=${head}
          rows=${() =>
            v.lines.map((l, i) => [
              l.part,
              l.part_name,
              asked.lines[i].pieces,
              l.due,
              l.p50,
              l.p85,
              l.p95,
              l.on_time,
            ])}
        />
      </p>
    </section>
    <section data-test="does">
      <h2>${say("promise.does")}</h2>
      <${Sides} v=${v} />
      <${Moved} list=${v.moved} name="promise-moves" />
    </section>
  `;
}

function Page() {
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const f = useFresh("/api/v1/ahead").value,
    given = /** @type {Asking | null} */ (readJSON(chosen.value.ask)),
    asked = enquiryOf(given),
    ready = f?.state === "ready" && f.method !== "too-few",
    answer = useScenario("/api/v1/promise", ready ? asked : null);
  return html`
    <h1>${say("promise.title")}</h1>
    <p class="soft">${say("promise.how")}</p>
    ${f && html`<${NoDates} f=${f} />`}
    ${ready &&
    shop.value &&
    html`<${Enquiry}
      given=${given}
      go=${(/** @type {Asking} */ v) => choose({ ask: JSON.stringify(enquiryOf(v)) })}
    />`}
    <${Going} ...${answer} />
    ${answer.value &&
    html`<div class=${answer.old ? "outdated-part" : ""}>
      <${Result} v=${answer.value} asked=${answer.of} />
    </div>`}
    ${ready &&
    f.late > 0 &&
    !answer.value &&
    html`<p class="soft" data-test="late-now">${say("promise.late-now", number(f.late))}</p>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
