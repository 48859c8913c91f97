// All batches, and the form that releases one and leads to its card.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get, post, uuid7 } from "../../lib/api.js";
import { now, tick } from "../../lib/clock.js";
import { CsvButton } from "../../lib/csv.js";
import { Find } from "../../lib/form.js";
import { At, BatchLink, Due, Hot, Mark, Part, Short } from "../../lib/marks.js";
import { PrintTo } from "../../lib/print-to.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { loadShop, shop, theShop } from "../../lib/shop.js";
import { dayOf } from "../../lib/times.js";
import { say, stateWord } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Batch"]} Batch
 * @typedef {Schema["ShortBatch"]} ShortBatch
 * Draft is a release as it is typed.
 * @typedef {typeof empty} Draft
 * @typedef {(k: keyof Draft) => (e: Input) => void} Set
 */

// The form that releases a batch, and then leads to its card.

const empty = {
  part: "",
  route_rev: "",
  pieces: "",
  wanted: "",
  due: "",
  works_order: "",
  customer: "",
  order_line: "",
  lots: "",
  priority: "",
  hot: false,
};

const texts = /** @type {const} */ (["due", "works_order", "customer", "order_line"]);
const numbers = /** @type {const} */ (["wanted", "priority"]);

/**
 * bodyOf is what the form says, without what was left empty.
 * @param {Draft} d
 */
function bodyOf(d) {
  /** @type {Omit<Schema["Release"], "id">} */
  const body = { part: d.part.trim(), route_rev: d.route_rev, pieces: Number(d.pieces) };
  for (const k of texts) if (d[k].trim()) body[k] = d[k].trim();
  for (const k of numbers) if (Number(d[k])) body[k] = Number(d[k]);
  if (d.hot) body.hot = true;
  const lots = d.lots
    .split(/[,;\n]/)
    .map((l) => l.trim())
    .filter(Boolean);
  if (lots.length) body.material_lots = lots;
  return body;
}

let last = { text: "", id: "" };

/**
 * idOf keeps the id of what is sent again, so that a batch is released once.
 * @param {ReturnType<typeof bodyOf>} body
 */
function idOf(body) {
  const text = JSON.stringify(body);
  if (last.text !== text) last = { text, id: uuid7(now()) };
  return last.id;
}

/** @param {{batch: Batch}} props */
function Done({ batch }) {
  const card = (/** @type {string} */ paper) =>
    html`<a
      class="button act"
      data-test=${"print-" + paper}
      href=${`/api/v1/batches/${batch.card}/card.pdf?paper=${paper}`}>
      ${say("card.print", paper)}
    </a>`;
  return html`
    <p class="released" role="status" data-test="released" data-card=${batch.card}>
      ${say("release.done", batch.works_order || batch.part)} <b>${batch.card}</b>
    </p>
    <p class="deeds">
      ${card("A5")}
      ${card("A4")}
      <${PrintTo}
        kind="card"
        cards=${[batch.card]}
        sizes=${["A5", "A4"]}
        title=${batch.works_order || batch.card}
      />
      <a class="button" href=${"/batch/" + batch.card}>${say("release.story")}</a>
    </p>
  `;
}

/** @param {{d: Draft, set: Set, problem: {field?: string}}} props */
function Fields({ d, set, problem }) {
  const revs = theShop().parts.filter((p) => p.part === d.part.trim());
  /** @type {(k: Exclude<keyof Draft, "hot">, more?: Record<string, unknown>) => unknown} */
  const field = (k, more = {}) =>
    html`<label>
      ${say("release." + k)}
      <input
        data-test=${"release-" + k}
        name=${k}
        value=${d[k]}
        onInput=${set(k)}
        aria-invalid=${problem.field === k ? "true" : undefined}
        ...${more}
      />
    </label>`;
  const whole = (/** @type {number} */ min, /** @type {number} */ max) => ({
    type: "number",
    min,
    max,
    step: 1,
  });
  const parts = [...new Map(theShop().parts.map((p) => [p.part, p.part_name])).entries()];
  return html`<div class="fields">
    ${field("part", { list: "parts", required: true, maxlength: 120, autocomplete: "off" })}
    <datalist id="parts">
      ${parts.map(([p, name]) => html`<option key=${p} value=${p}>${name}</option>`)}
    </datalist>
    <label>
      ${say("release.route_rev")}
      <select required data-test="release-route_rev" onChange=${set("route_rev")}>
        ${revs.length === 0 && html`<option value="">${say("release.part-first")}</option>`}
        ${revs.map(
          (r) =>
            html`<option key=${r.route_rev} value=${r.route_rev} selected=${r.route_rev === d.route_rev}>
              ${say("release.rev", r.route_rev, r.drawing_rev || say("none"), r.operations.length)}
            </option>`,
        )}
      </select>
    </label>
    ${field("pieces", { ...whole(1, 10000000), required: true })}
    ${field("wanted", whole(1, 10000000))}
    ${field("due", { type: "date" })}
    ${field("works_order", { maxlength: 120 })}
    ${field("customer", { maxlength: 120 })}
    ${field("order_line", { maxlength: 120 })}
    ${field("lots", { maxlength: 500 })}
    ${field("priority", whole(-1000, 1000))}
    <label class="tick">
      <input type="checkbox" data-test="release-hot" checked=${d.hot} onChange=${set("hot")} />
      ${say("release.hot")}
    </label>
  </div>`;
}

/** @param {{after: () => void}} props */
function Release({ after }) {
  const draft = useSignal(empty),
    problem = useSignal(/** @type {{field?: string, message?: string}} */ ({})),
    done = useSignal(/** @type {Batch | null} */ (null)),
    busy = useSignal(false);
  /** @type {Set} */
  const set = (k) => (e) => {
    const d = { ...draft.value, [k]: k === "hot" ? e.target.checked : e.target.value };
    if (k === "part") {
      const revs = theShop().parts.filter((p) => p.part === d.part.trim());
      if (!revs.some((r) => r.route_rev === d.route_rev)) d.route_rev = revs.at(-1)?.route_rev ?? "";
    }
    draft.value = d;
  };
  const submit = async (/** @type {Event} */ e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    const body = bodyOf(draft.value);
    try {
      done.value = await post("/api/v1/batches", { id: idOf(body), ...body });
      last = { text: "", id: "" };
      draft.value = { ...empty, part: draft.value.part, route_rev: draft.value.route_rev };
      problem.value = {};
      after();
    } catch (err) {
      problem.value = /** @type {Error} */ (err);
      done.value = null;
    } finally {
      busy.value = false;
    }
  };
  if (!shop.value) return null;
  return html`<details class="release" data-test="release" open=${location.hash === "#release"}>
    <summary>${say("release.title")}</summary>
    ${shop.value.parts.length === 0
      ? html`<p class="empty">${say("release.no-parts")}</p>`
      : html`<form onSubmit=${submit}>
          <${Fields} d=${draft.value} set=${set} problem=${problem.value} />
          ${problem.value.message &&
          html`<p class="problem" role="alert" data-test="release-problem">${problem.value.message}</p>`}
          <p class="deeds">
            <button class="act" type="submit" disabled=${busy.value} data-test="release-go">
              ${say("release.do")}
            </button>
          </p>
        </form>`}
    ${done.value && html`<${Done} batch=${done.value} />`}
  </details>`;
}

// All batches, with a search, and the form that releases one.

/** @type {(keyof ShortBatch)[]} */
const csvHead = [
  "card",
  "works_order",
  "part",
  "part_name",
  "route_rev",
  "started",
  "wanted",
  "good",
  "due",
  "state",
  "next_operation",
  "customer",
  "released",
];
const heads = ["batch", "part", "pieces", "good", "due", "state", "customer", "released"];

/** @param {{row: ShortBatch}} props */
function State({ row }) {
  const word = stateWord(row.state);
  if (row.state === "held") return html`<${Mark} kind="held">${word}<//>`;
  if (row.state === "stopped") return html`<${Mark} kind="stop">${word}<//>`;
  return html`
    ${word}
    ${row.next_operation ? html` <small>${say("operation.of", row.next_operation)}</small>` : ""}
  `;
}

/** @param {{row: ShortBatch, today: string}} props */
function Row({ row, today }) {
  const over = ["done", "cancelled"].includes(row.state);
  /** @type {(name: string, content: unknown) => unknown} */
  const cell = (name, content) => html`<td class=${name} data-label=${say("head." + name)}>${content}</td>`;
  return html`<tr data-test="batch-row" data-card=${row.card} data-state=${row.state}>
    ${cell(
      "batch",
      html`${row.hot && html`<${Hot} /> `}<${BatchLink} row=${row} /> <${Short} n=${row.short} />`,
    )}
    ${cell("part", html`<${Part} row=${row} />`)}
    ${cell("pieces", row.started)}
    ${cell("good", say("good.wanted", row.good, row.wanted))}
    ${cell("due", html`<${Due} due=${row.due} today=${today} late=${!over && row.due && row.due < today} />`)}
    ${cell("state", html`<${State} row=${row} />`)}
    ${cell("customer", row.customer || "")}
    ${cell("released", html`<${At} t=${row.released} />`)}
  </tr>`;
}

function BatchesPage() {
  const text = useSignal(new URLSearchParams(location.search).get("q") || ""),
    state = useSignal("open"),
    found = useSignal(/** @type {Schema["Batches"] | null} */ (null));
  const load = () => {
    const asked = text.value,
      of = state.value;
    get(`/api/v1/batches?q=${encodeURIComponent(asked)}&state=${of}`)
      .then((a) => {
        if (asked === text.value && of === state.value) found.value = a;
      })
      .catch(failed);
  };
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  useEffect(() => {
    const t = setTimeout(load, 200);
    return () => clearTimeout(t);
  }, [text.value, state.value]);
  useEffect(() => {
    const t = setInterval(load, 10000);
    return () => clearInterval(t);
  }, []);
  const today = dayOf(tick.value),
    all = found.value;
  return html`
    <h1>${say("batches.title")}</h1>
    ${may("release") && html`<${Release} after=${load} />`}
    <div class="tools">
      <${Find} label=${say("batches.find")} test="search" text=${text} />
      <label>
        ${say("batches.which")}
        <select
          data-test="which"
          onChange=${(/** @type {Input} */ e) => {
            state.value = e.target.value;
          }}>
          <option value="open">${say("batches.open")}</option>
          <option value="all">${say("batches.all")}</option>
        </select>
      </label>
    </div>
    ${!all
      ? html`<p class="soft">${say("loading")}</p>`
      : all.batches.length === 0
        ? html`<p class="empty">${say(text.value ? "waits.nothing-found" : "batches.none")}</p>`
        : html`
            <p class="deeds">
              <${CsvButton}
                name="batches"
                head=${csvHead}
                rows=${() => all.batches.map((r) => csvHead.map((k) => r[k] ?? ""))}
              />
            </p>
            <table class="batches stack">
              <thead>
                <tr>
                  ${heads.map((h) => html`<th key=${h} class=${h} scope="col">${say("head." + h)}</th>`)}
                </tr>
              </thead>
              <tbody>${all.batches.map((r) => html`<${Row} key=${r.card} row=${r} today=${today} />`)}</tbody>
            </table>
            ${all.more && html`<p class="soft">${say("batches.more", all.batches.length)}</p>`}
          `}
  `;
}

start(() => (me.value ? html`<${BatchesPage} />` : null));
