// What if something were done otherwise: which dates would move. What is asked stands in
// the address; nothing is changed until someone says so.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { choose, chosen } from "../../lib/filters.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, shop } from "../../lib/shop.js";
import { say } from "../../lib/words.js";
import { useFresh, useScenario } from "./fresh.js";
import { Ask, changeText } from "./ask.js";
import { Deed } from "./deed.js";
import { Going, Moved, NoDates, Sides } from "./parts.js";
import { bodyOf, changesOf } from "./scenario.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {import("./ask.js").Data} Data
 * @typedef {import("./scenario.js").Change} Change
 */

/** @param {{list: Change[], data: Data, remove: (i: number) => void, done: (i: number) => void}} props */
function Asked({ list, data, remove, done }) {
  return html`<ul class="changes" data-test="changes">
    ${list.map(
      (c, i) =>
        html`<li key=${JSON.stringify(c)} class="asked" data-test="change" data-kind=${c.k}>
          <p>${changeText(c, data)}</p>
          <p class="deeds">
            <${Deed} c=${c} data=${data} done=${() => done(i)} />
            <button class="quiet" data-test=${"drop-" + i} onClick=${() => remove(i)}>
              ${say("what-if.drop")}
            </button>
          </p>
        </li>`,
    )}
  </ul>`;
}

/** @param {{v: Schema["WhatIf"]}} props */
function Result({ v }) {
  return html`<section data-test="what-came">
    <h2>${say("what-if.comes")}</h2>
    <${Sides} v=${v} />
    ${v.new.length > 0 &&
    html`<p data-test="new">
      ${v.new.map((b) => say("what-if.new", `${b.part} ${b.part_name || ""}`, b.card)).join("; ")}
    </p>`}
    <${Moved} list=${v.moved} name="what-if" />
  </section>`;
}

// useData is what can be chosen from: batches, machines, parts, calendars, the rule.
function useData() {
  const f = useFresh("/api/v1/ahead"),
    calendars = useSignal(/** @type {Schema["Calendars"] | null} */ (null));
  const load = () =>
    Promise.all([loadShop(), get("/api/v1/calendars")])
      .then(([, c]) => {
        calendars.value = c;
      })
      .catch(failed);
  useEffect(() => {
    load();
  }, []);
  const machinesOf = (/** @type {string} */ name) =>
    calendars.value?.calendars.find((c) => c.calendar === name)?.machines || [];
  return {
    f: f.value,
    shop: shop.value,
    calendars: calendars.value,
    machinesOf,
    batch: (/** @type {string} */ card) => f.value?.batches.find((b) => b.card === card),
    again: () => {
      load();
      f.again();
    },
  };
}

function Page() {
  const data = useData(),
    { f } = data,
    list = changesOf(chosen.value.do),
    ready = f?.state === "ready" && f.method !== "too-few" && data.calendars && data.shop,
    body = ready ? bodyOf(list, data.machinesOf) : null,
    answer = useScenario("/api/v1/what-if", body);
  const put = (/** @type {Change[]} */ changes) =>
    choose({ do: changes.length ? JSON.stringify(changes) : "" });
  const remove = (/** @type {number} */ i) => put(list.filter((_, k) => k !== i));
  return html`
    <h1>${say("what-if.title")}</h1>
    <p class="soft">${say("what-if.how")}</p>
    ${f && html`<${NoDates} f=${f} />`}
    ${ready &&
    html`
      <${Ask} data=${data} add=${(/** @type {Change} */ c) => put([...list, c])} />
      <${Asked}
        list=${list}
        data=${data}
        remove=${remove}
        done=${(/** @type {number} */ i) => {
          remove(i);
          data.again();
        }}
      />
    `}
    <${Going} ...${answer} />
    ${answer.value &&
    body &&
    html`<div class=${answer.old ? "outdated-part" : ""}><${Result} v=${answer.value} /></div>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
