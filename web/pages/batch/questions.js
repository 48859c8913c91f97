// What was said and does not fit, where numbers disagree, what was done anyway: those that
// keep a figure from being added up first, alike ones together; then scans that belong to
// no batch, and what was settled.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { openBoard } from "../../lib/board.js";
import { choose, chosen } from "../../lib/filters.js";
import { At, Mark } from "../../lib/marks.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { desk, loadShop, scanText, send } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { alike, FILTERS, firstOf, narrowed, valuesOf } from "./alike.js";
import { Asked, CorrectDialog } from "./asked.js";
import { Alike, AT_ONCE, Stayed } from "./bulk.js";
import { wantFollows } from "./follow.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./alike.js").Schema} Schema
 * @typedef {import("./alike.js").Question} Question
 * @typedef {import("./alike.js").Group} Alikes
 * @typedef {import("./asked.js").Line} Line
 */

/** @type {[string, string[]][]} */
const groups = [
  ["numbers", ["over", "uncounted", "counter"]],
  ["scan", ["scan"]],
  ["closed", ["closed"]],
  ["anyway", ["anyway"]],
];
const known = groups.flatMap(([, kinds]) => kinds);
const names = [...groups.map(([name]) => name), "other"];

const SHOWN = 40; // questions that are shown at first, and more with each press

/** @param {{name: string, parts: Alikes[], after: () => void}} props */
function Group({ name, parts, after }) {
  if (parts.length === 0) return null;
  const n = parts.reduce((sum, g) => sum + g.list.length, 0);
  return html`<section data-test="group" data-group=${name}>
    <h2>
      ${say("group." + name)} <span class="soft">${n}</span>${" "}
      <small>${say("blocks." + (parts[0].list[0].blocks || "nothing"))}</small>
    </h2>
    ${parts.map((g) => html`<${Alike} key=${g.key} list=${g.list} after=${after} />`)}
  </section>`;
}

/**
 * Facet is one filter; nothing where there is nothing to choose.
 * @param {{name: string, list: Question[]}} props
 */
function Facet({ name, list }) {
  const by = chosen.value[name] ?? "",
    values = [...new Set([...valuesOf(list, name), by])].filter(Boolean);
  if (values.length === 0) return null;
  return html`<label>
    ${say("questions.by." + name)}
    <select
      data-test=${"by-" + name}
      onChange=${(/** @type {Input} */ e) => choose({ [name]: e.target.value })}>
      <option value="" selected=${!by}>${say("questions.by.all")}</option>
      ${values.map(
        (v) =>
          html`<option key=${v} value=${v} selected=${v === by}>
            ${name === "kind" ? say("kind." + v) : v}
          </option>`,
      )}
    </select>
  </label>`;
}

/**
 * ordered are the alike ones, section by section, as they stand on the page.
 * @param {Question[]} open
 */
const ordered = (open) =>
  names.flatMap((name) => {
    const kinds = new Map(groups).get(name);
    const fits = open.filter((q) => (kinds ? kinds.includes(q.kind) : !known.includes(q.kind)));
    return alike(fits).map((g) => ({ ...g, name }));
  });

/** @param {{l: Line, after: () => void, correct: (line: Line) => void}} props */
function Loose({ l, after, correct }) {
  const drop = () =>
    send(desk("decide", l.scan.card, { for: "scan:" + l.scan.id, reason: "drop" }), {
      done: say("settled.as", say("choice.drop")),
      undoable: false,
      after,
    });
  return html`<article class="asked" data-test="loose" data-seq=${l.seq}>
    <p class="asked-head">
      <${Mark} kind="ask">${say("loose.one")}<//> <b>${l.scan.card}</b>${" "}
      <small><${At} t=${l.scan.happened || l.scan.at} /></small>
    </p>
    <p>
      <span class="soft">${say("ask.said")}</span>${" "}
      ${[l.who, l.machine || l.scan.station].filter(Boolean).join(", ")}: ${scanText(l.scan)}
    </p>
    ${l.say && html`<p><span class="soft">${say("ask.known")}</span> ${l.say}</p>`}
    ${may("settle") &&
    html`<p class="deeds">
      <button data-test="loose-correct" onClick=${() => correct(l)}>
        <b>${say("loose.correct")}</b>
        <small>${say("loose.correct.why")}</small>
      </button>
      <button data-test="loose-drop" onClick=${drop}>
        <b>${say("choice.drop")}</b>
        <small>${say("choice.drop.why")}</small>
      </button>
    </p>`}
  </article>`;
}

function QuestionsPage() {
  const all = useSignal(/** @type {Schema["Questions"] | null} */ (null)),
    correcting = useSignal(/** @type {Line | null} */ (null)),
    shown = useSignal(SHOWN);
  const load = () =>
    get("/api/v1/questions")
      .then((a) => {
        all.value = a;
      })
      .catch(failed);
  useEffect(() => {
    let soon = /** @type {ReturnType<typeof setTimeout> | undefined} */ (undefined);
    const later = () => {
      clearTimeout(soon);
      soon = setTimeout(load, 500);
    };
    loadShop().then(load, failed);
    openBoard({ onChange: later, onReopen: later });
    const t = setInterval(load, 30000);
    return () => clearInterval(t);
  }, []);
  const fits = all.value ? narrowed(all.value.open, chosen.value) : [],
    parts = firstOf(ordered(fits), shown.value),
    n = parts.reduce((sum, g) => sum + g.list.length, 0);
  useEffect(() => void wantFollows(parts.flatMap((g) => g.list.slice(0, AT_ONCE))));
  if (!all.value) return html`<h1>${say("questions.title")}</h1><p class="soft">${say("loading")}</p>`;
  const { open, settled, loose } = all.value,
    waiting = open.length + loose.length;
  return html`
    <h1>${say("questions.title")}</h1>
    <p class="summary" data-test="questions-open">
      ${waiting ? count("questions.open", waiting) : say("questions.none")}
    </p>
    <p class="soft">${say("questions.what")}</p>
    ${open.length > 1 &&
    html`<div class="tools">${FILTERS.map((f) => html`<${Facet} key=${f} name=${f} list=${open} />`)}</div>`}
    <${Stayed} />
    ${open.length > 0 && fits.length === 0 && html`<p class="empty">${say("questions.none-found")}</p>`}
    ${names.map(
      (name) =>
        html`<${Group}
          key=${name}
          name=${name}
          after=${load}
          parts=${parts.filter((g) => g.name === name)}
        />`,
    )}
    ${fits.length > n &&
    html`<button
      data-test="more"
      onClick=${() => {
        shown.value += SHOWN;
      }}>
      ${count("questions.more", fits.length - n)}
    </button>`}
    ${loose.length > 0 &&
    html`<section data-test="group" data-group="loose">
      <h2>${say("group.loose")} <span class="soft">${loose.length}</span></h2>
      ${loose.map(
        (l) =>
          html`<${Loose}
            key=${l.seq}
            l=${l}
            after=${load}
            correct=${(/** @type {Line} */ line) => {
              correcting.value = line;
            }}
          />`,
      )}
    </section>`}
    ${settled.length > 0 &&
    html`<details class="settled-list" data-test="settled-list">
      <summary>${count("questions.settled", settled.length)}</summary>
      ${settled.map((q) => html`<${Asked} key=${q.question} q=${q} after=${load} link />`)}
    </details>`}
    ${correcting.value &&
    html`<${CorrectDialog}
      line=${{ ...correcting.value, at: correcting.value.scan.happened || correcting.value.scan.at }}
      after=${load}
      close=${() => {
        correcting.value = null;
      }}
    />`}
  `;
}

start(() => (me.value ? html`<${QuestionsPage} />` : null));
