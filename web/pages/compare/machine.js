// A machine case: what a machine would come to in a year with a family of parts.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { useAnswer } from "../../lib/form.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop, shop, theShop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";
import { bodyOf, changeCase, machineCase, newMember, Results } from "./case.js";
import { centres, CombineFields, emptyCombine, Predicted, tidy } from "./combine.js";
import { Costs, partsList, revsOf } from "./form.js";
import { NumberField, percent, Pick, PrintButton, Tabs, whole } from "./text.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("./case.js").Cases} Cases
 * @typedef {import("./case.js").Machine} Machine
 * @typedef {import("./case.js").MachineCase} MachineCase
 * @typedef {import("./case.js").Member} Member
 * @typedef {import("./case.js").Worth} Worth
 * @typedef {import("./combine.js").CombineAsk} CombineAsk
 * @typedef {(some: Partial<Member>) => void} Set
 */

/**
 * Quarter says what the work centre did in the last quarter, which is where the
 * load from other work starts; and, once someone has entered another, that one.
 * @param {{v: Cases, own: boolean, reset: () => void}} props
 */
function Quarter({ v, own, reset }) {
  const q = v.quarter;
  return html`
    <p class="soft" data-test="case-quarter" data-others=${q.others}>
      ${q.machines > 0
        ? count("case.quarter", q.machines, percent(q.load), percent(q.others), whole(q.open_h_week))
        : say("case.quarter.none", q.work_centre)}${" "}
      ${own ? say("case.quarter.own", percent(v.busy)) : say("case.quarter.taken", percent(v.busy))}
    </p>
    ${own &&
    html`<p class="deeds">
      <button type="button" data-test="busy-fill" onClick=${reset}>${say("case.busy.fill")}</button>
    </p>`}
  `;
}

/**
 * Machine asks for the machine; v is what the server last answered of the case.
 * @param {{c: MachineCase, v: Cases | null}} props
 */
function Machine({ c, v }) {
  const m = c.machine,
    set = (/** @type {Partial<Machine>} */ some) => changeCase({ machine: { ...m, ...some } }),
    list = centres(),
    known = list.some(([w]) => w === m.work_centre),
    own = m.busy !== null,
    busy = own ? m.busy : v && v.busy;
  /** @param {"price" | "one_off" | "open_h_week" | "weeks"} k */
  const f = (k, more = {}) =>
    html`<${NumberField}
      label=${say("case." + k)}
      test=${k}
      value=${m[k]}
      set=${(/** @type {number} */ v) => set({ [k]: v })}
      ...${more}
    />`;
  return html`<fieldset>
    <legend>${say("case.machine")}</legend>
    <div class="fields">
      <label>
        ${say("case.centre")}
        <input
          value=${m.work_centre}
          list="centres"
          maxlength="60"
          data-test="work_centre"
          autocomplete="off"
          onChange=${(/** @type {Input} */ e) => set({ work_centre: e.target.value.trim() })}
        />
      </label>
      <datalist id="centres">
        ${list.map(([w, n]) => html`<option key=${w} value=${w}>${n}</option>`)}
      </datalist>
      ${f("price", { hint: say("case.price.why") })}
      ${f("one_off", { hint: say("case.one_off.why") })}
      ${f("open_h_week", { max: 168 })}
      ${f("weeks", { max: 53 })}
      <${NumberField}
        label=${say("case.busy")}
        test="busy"
        max=${100}
        value=${busy === null ? "" : Math.round(1000 * busy) / 10}
        set=${(/** @type {number} */ x) => set({ busy: x / 100 })}
        hint=${say("case.busy.why")}
      />
    </div>
    ${v && html`<${Quarter} v=${v} own=${own} reset=${() => set({ busy: null })} />`}
    ${!known && m.work_centre && html`<p class="notice">${say("case.new-centre", m.work_centre)}</p>`}
  </fieldset>`;
}

/** @param {{p: Member, i: number, set: Set, centre: string}} props */
function Then({ p, i, set, centre }) {
  const revs = revsOf(p.part),
    combined = Boolean(p.then.combine);
  const choose = (/** @type {string} */ v) =>
    set({
      then:
        v === "combined"
          ? {
              route_rev: p.now.route_rev,
              name: say("combine.name.default"),
              combine: { ...emptyCombine(p.part, p.now.route_rev), work_centre: centre },
            }
          : { route_rev: v },
    });
  return html`<${Pick}
    label=${say("case.then")}
    test=${`then-${i}`}
    value=${combined ? "combined" : p.then.route_rev}
    options=${[...revs.map((r) => [r, say("compare.route", r)]), ["combined", say("case.combined")]]}
    set=${choose}
  />`;
}

/** @param {{p: Member, i: number, c: MachineCase}} props */
function Member({ p, i, c }) {
  /** @type {Set} */
  const set = (some) => changeCase({ members: c.members.map((x, k) => (k === i ? { ...x, ...some } : x)) });
  const part = (/** @type {string} */ v) =>
    newMember(v, revsOf(v))
      .then((m) => set(m))
      .catch(failed);
  const { combine } = p.then;
  const setCombine = (/** @type {Partial<CombineAsk>} */ some) =>
    combine && set({ then: { ...p.then, combine: tidy({ ...combine, ...some }) } });
  return html`<fieldset class="member" data-test="member">
    <legend>${say("case.part", i + 1)}</legend>
    <div class="fields">
      <${Pick}
        label=${say("filter.part")}
        wide
        test=${`member-part-${i}`}
        value=${p.part}
        options=${partsList()}
        set=${part}
      />
      <${NumberField}
        label=${say("case.demand")}
        test=${`demand-${i}`}
        value=${p.demand}
        set=${(/** @type {number} */ demand) => set({ demand })}
      />
      <${NumberField}
        label=${say("case.size")}
        test=${`size-${i}`}
        min=${1}
        step="1"
        value=${p.size}
        set=${(/** @type {number} */ size) => set({ size: Math.round(size) })}
      />
      <${Pick}
        label=${say("case.now")}
        test=${`now-${i}`}
        value=${p.now.route_rev}
        options=${revsOf(p.part).map((r) => [r, say("compare.route", r)])}
        set=${(/** @type {string} */ r) => set({ now: { route_rev: r } })}
      />
      <${Then} p=${p} i=${i} set=${set} centre=${c.machine.work_centre} />
    </div>
    ${combine &&
    html`
      <${CombineFields} part=${p.part} ask=${p.then} set=${setCombine} />
      <${Predicted} clamping=${true} loss="" />
    `}
    ${c.members.length > 1 &&
    html`<p class="deeds">
      <button
        type="button"
        class="quiet"
        data-test=${`member-off-${i}`}
        onClick=${() => changeCase({ members: c.members.filter((_, k) => k !== i) })}>
        ${say("remove")}
      </button>
    </p>`}
  </fieldset>`;
}

/** @param {{c: MachineCase}} props */
function Worth({ c }) {
  const w = c.worth,
    set = (/** @type {Partial<Worth>} */ some) => changeCase({ worth: { ...w, ...some } });
  const f = (/** @type {keyof Worth} */ k, /** @type {boolean} */ part) =>
    html`<${NumberField}
      label=${say("case." + k)}
      test=${k}
      value=${part ? Math.round(100 * w[k]) : w[k]}
      max=${part ? 100 : undefined}
      set=${(/** @type {number} */ v) => set({ [k]: part ? v / 100 : v })}
      hint=${say("case." + k + ".why")}
    />`;
  return html`<fieldset>
    <legend>${say("case.worth")}</legend>
    <p>${say("case.worth.why")}</p>
    <div class="fields">${f("replaced", true)}${f("hour", false)}${f("labour", true)}</div>
  </fieldset>`;
}

/** @param {{c: MachineCase}} props */
function Members({ c }) {
  const add = () => {
    const used = c.members.map((m) => m.part),
      part = (partsList().find(([p]) => !used.includes(p)) || partsList()[0])[0];
    newMember(part, revsOf(part))
      .then((m) => changeCase({ members: [...c.members, m] }))
      .catch(failed);
  };
  return html`
    ${c.members.map((p, i) => html`<${Member} key=${i} p=${p} i=${i} c=${c} />`)}
    ${c.members.length < 30 &&
    html`<p class="deeds">
      <button type="button" data-test="member-add" onClick=${add}>${say("case.add")}</button>
    </p>`}
  `;
}

// begin fills an empty case: the part with the most routes, and the work centre
// at which its newest route does most.
async function begin() {
  await loadShop();
  if (machineCase.value.members.length > 0) return;
  const part = partsList()
    .map(([p]) => p)
    .sort((a, b) => revsOf(b).length - revsOf(a).length)[0];
  if (!part) return;
  const m = await newMember(part, revsOf(part)),
    plan = theShop().parts.find((p) => p.part === part && p.route_rev === m.then.route_rev);
  const work = (/** @type {typeof ops[number]} */ o) => o.setup_min + o.cycle_min * m.size,
    ops = plan?.operations ?? [],
    most = ops.reduce((a, b) => (work(b) > work(a) ? b : a), ops[0]);
  changeCase(
    {
      members: [m],
      machine: {
        ...machineCase.value.machine,
        work_centre: machineCase.value.machine.work_centre || most.work_centre,
      },
    },
    { replace: true },
  );
}

function Page() {
  const ready = useSignal(false);
  useEffect(() => {
    begin()
      .catch(failed)
      .finally(() => {
        ready.value = true;
      });
  }, []);
  const c = machineCase.value,
    asks = ready.value && c.machine.work_centre !== "" && c.members.length > 0,
    { value: v, problem, of } = useAnswer(asks && "/api/v1/machine-case", bodyOf(c));
  const head = html`
    <h1>${say("case.title")}</h1>
    <${Tabs} part=${c.members.length ? c.members[0].part : ""} />
  `;
  if (!ready.value || !shop.value) return html`${head}<p class="soft">${say("loading")}</p>`;
  if (c.members.length === 0) return html`${head}<p class="empty">${say("compare.no-parts")}</p>`;
  return html`
    ${head}
    <p class="soft">${say("case.how")}</p>
    <${PrintButton} />
    <form class="ask" data-test="case" onSubmit=${(/** @type {Event} */ e) => e.preventDefault()}>
      <${Machine} c=${c} v=${v} />
      <${Members} c=${c} />
      <${Costs}
        costs=${c.costs}
        set=${(/** @type {MachineCase["costs"]} */ costs) => changeCase({ costs })}
      />
      <${Worth} c=${c} />
    </form>
    ${problem && html`<p class="problem" role="alert" data-test="failed">${problem}</p>`}
    ${v ? html`<${Results} v=${v} c=${of} />` : !problem && html`<p class="soft">${say("loading")}</p>`}
  `;
}

start(() => (me.value ? html`<${Page} />` : null));
