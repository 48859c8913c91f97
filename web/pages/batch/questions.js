// The morning list: what was said and does not fit, what was done anyway, where
// numbers disagree; then scans that belong to no batch, and what was settled.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { openBoard } from "../../lib/board.js";
import { At, Mark } from "../../lib/marks.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { desk, loadShop, scanText, send } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { Asked, CorrectDialog } from "./asked.js";

const groups = [
  ["scan", ["scan"]],
  ["anyway", ["anyway"]],
  ["numbers", ["over", "uncounted", "counter"]],
  ["closed", ["closed"]],
];
const known = groups.flatMap(([, kinds]) => kinds);

function Group({ name, list, after }) {
  if (list.length === 0) return null;
  return html`<section data-test="group" data-group=${name}>
    <h2>${say("group." + name)} <span class="soft">${list.length}</span></h2>
    ${list.map((q) => html`<${Asked} key=${q.question} q=${q} after=${after} link />`)}
  </section>`;
}

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
  const all = useSignal(/** @type {any} */ (null)),
    correcting = useSignal(/** @type {any} */ (null));
  const load = () =>
    get("/api/v1/questions")
      .then((a) => {
        all.value = a;
      })
      .catch(failed);
  useEffect(() => {
    let soon;
    const later = () => {
      clearTimeout(soon);
      soon = setTimeout(load, 500);
    };
    loadShop().then(load, failed);
    openBoard({ onChange: later, onReopen: later });
    const t = setInterval(load, 30000);
    return () => clearInterval(t);
  }, []);
  if (!all.value) return html`<h1>${say("questions.title")}</h1><p class="soft">${say("loading")}</p>`;
  const { open, settled, loose } = all.value,
    n = open.length + loose.length;
  return html`
    <h1>${say("questions.title")}</h1>
    <p class="summary" data-test="questions-open">
      ${n ? count("questions.open", n) : say("questions.none")}
    </p>
    <p class="soft">${say("questions.what")}</p>
    ${groups.map(
      ([name, kinds]) =>
        html`<${Group}
          key=${name}
          name=${name}
          after=${load}
          list=${open.filter((q) => kinds.includes(q.kind))}
        />`,
    )}
    <${Group} name="other" after=${load} list=${open.filter((q) => !known.includes(q.kind))} />
    ${loose.length > 0 &&
    html`<section data-test="group" data-group="loose">
      <h2>${say("group.loose")} <span class="soft">${loose.length}</span></h2>
      ${loose.map(
        (l) =>
          html`<${Loose}
            key=${l.seq}
            l=${l}
            after=${load}
            correct=${(line) => {
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
