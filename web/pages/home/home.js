// The first page: what is where, in plain words, and the ways to everything.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { boards, isAway, LinkState, openBoard, totals, totalsText } from "../../lib/board.js";
import { Gone, Mark } from "../../lib/marks.js";
import { failed, may, me, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { address, read } from "../../lib/wall-size.js";
import { count, say } from "../../lib/words.js";

const { about, rows } = boards.waits;

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("../../lib/board.js").Row} Row
 */

/** @param {{name: string, machines: Schema["Centre"]["machines"], list: Row[]}} props */
function CentreLine({ name, machines, list }) {
  const works = list.filter((r) => r.kind === "work" && !isAway(r)),
    away = list.filter(isAway),
    waits = list.filter((r) => r.kind === "wait");
  const longest = waits.reduce(
    (a, r) => (!a || Date.parse(r.since) < Date.parse(a.since) ? r : a),
    /** @type {Row | null} */ (null),
  );
  const doing = [...new Set(works.map((r) => r.machine + "\n" + r.state))].map((k) =>
    works.filter((r) => r.machine + "\n" + r.state === k),
  );
  const batch = (/** @type {Row} */ r) => html`<a href=${"/batch/" + r.card}>${r.works_order || r.card}</a>`;
  const free = machines.filter((m) => ![...works, ...away].some((r) => r.machine === m.machine));
  return html`<tr data-test="home-centre" data-centre=${name}>
    <th scope="row">${name}</th>
    <td>
      ${doing.map(
        (l, i) =>
          html`
            ${i ? "; " : ""}${l[0].machine} ${say("verb." + l[0].state)}${" "}
            ${l.map((r, j) => html`${j ? ", " : ""}${batch(r)}`)}
          `,
      )}
      ${works.length && free.length ? "; " : ""}
      ${free.length ? say("home.free", free.map((m) => m.machine).join(", ")) : ""}
      ${away.length > 0 &&
      html`
        ${works.length || free.length ? "; " : ""}${say("state.outside")}:${" "}
        ${away.map((r, j) => html`${j ? ", " : ""}${batch(r)}`)}
      `}
    </td>
    <td>
      ${longest
        ? html`${count("home.wait", waits.length)} ${batch(longest)} (<${Gone} since=${longest.since} />)`
        : html`<span class="soft">${say("waits.none")}</span>`}
      ${waits.some((r) => r.late) &&
      html` <${Mark} kind="late">${count("waits.late", waits.filter((r) => r.late).length)}<//>`}
    </td>
  </tr>`;
}

function Floor() {
  const list = Object.values(rows.value),
    centres = about.value?.centres ?? [];
  if (centres.length === 0)
    return html`<p class="empty" data-test="no-machines">${say("home.no-machines")}</p>`;
  return html`
    <p class="summary" data-test="summary">${totalsText(totals(list))}</p>
    <table class="floor">
      <tbody>
        ${centres.map(
          (c) =>
            html`<${CentreLine}
              key=${c.work_centre}
              name=${c.work_centre}
              machines=${c.machines}
              list=${list.filter((r) => r.work_centre === c.work_centre)}
            />`,
        )}
      </tbody>
    </table>
  `;
}

function Sheets() {
  const machine = useSignal("");
  const machines = shop.value ? shop.value.machines : [];
  const chosen = machine.value || (machines[0] ? machines[0].machine : "");
  return html`<section>
    <h2>${say("home.sheets")}</h2>
    <p class="deeds">
      ${["scanner", "badges", "plates", "trust", ...(may("enrol") ? ["devices"] : [])].map(
        (k) =>
          html`<a key=${k} class="button" data-test=${"sheet-" + k} href=${`/api/v1/sheets/${k}.pdf`}>
            ${say("sheet." + k)}
          </a>`,
      )}
    </p>
    ${machines.length > 0 &&
    html`<p class="deeds">
      <label>
        ${say("sheet.for")}
        <select
          data-test="sheet-machine"
          onChange=${(/** @type {Input} */ e) => {
            machine.value = e.target.value;
          }}>
          ${machines.map(
            (m) => html`<option key=${m.machine} value=${m.machine}>${m.machine} ${m.name}</option>`,
          )}
        </select>
      </label>
      <a
        class="button"
        data-test="sheet-actions"
        href=${"/api/v1/sheets/actions.pdf?machine=" + encodeURIComponent(chosen)}>
        ${say("sheet.actions")}
      </a>
    </p>`}
  </section>`;
}

/** @type {(word: string) => [string, string, string]} */
const looked = (word) => ["/" + word, word, "look"];

/** @param {{open: number}} props */
function Ways({ open }) {
  /** @type {[string, string, string][]} */
  const ways = [
    ["/waits", "waits", "look"],
    ["/ground", "ground", "look"],
    ["/pace", "pace", "look"],
    ...["ahead", "promise", "what-if", "next"].map(looked),
    ...["history", "losses", "machines", "fits", "trace", "compare"].map(looked),
    ["/questions", "questions", "look"],
    ["/batches", "batches", "look"],
    ["/batches#release", "release", "release"],
    ["/typed", "typed", "settle"],
    ["/station", "station", "scan"],
    [address(read("")), "wall", "look"],
    ["/calendars", "calendars", "look"],
    ["/health", "health", "enrol"],
    ["/keeping", "keeping", "enrol"],
    ["/printers", "printers", "release"],
    ["/stations", "stations", "enrol"],
    ["/accounts", "accounts", "accounts"],
  ];
  return html`<ul class="ways">
    ${ways
      .filter(([, , d]) => may(d))
      .map(
        ([path, word]) =>
          html`<li key=${word}>
            <a href=${path} data-test=${"way-" + word}>
              <b>${say("way." + word)}</b>${" "}
              <small>
                ${word === "questions" && open > 0
                  ? html`<${Mark} kind="ask">${count("questions.open", open)}<//>`
                  : say(`way.${word}.why`)}
              </small>
            </a>
          </li>`,
      )}
  </ul>`;
}

function Home() {
  const open = useSignal(0);
  const load = () =>
    get("/api/v1/questions")
      .then((a) => {
        open.value = a.open.length + a.loose.length;
      })
      .catch(failed);
  useEffect(() => {
    let soon = /** @type {ReturnType<typeof setTimeout> | undefined} */ (undefined);
    openBoard({
      onChange: () => {
        clearTimeout(soon);
        soon = setTimeout(load, 1000);
      },
    });
    loadShop().catch(failed);
    load();
  }, []);
  return html`
    <div class="top"><h1>${say("home.title")}</h1><${LinkState} /></div>
    ${about.value ? html`<${Floor} />` : html`<p class="soft">${say("loading")}</p>`}
    <${Ways} open=${open.value} />
    <${Sheets} />
    <section class="cautions" data-test="cautions">
      <h2>${say("cautions")}</h2>
      <ul>${["stop", "quarantine", "people"].map((k) => html`<li key=${k}>${say("caution." + k)}</li>`)}</ul>
    </section>
  `;
}

start(() => (me.value ? html`<${Home} />` : null));
