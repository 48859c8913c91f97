// The form that releases a batch, and then leads to its card.
import {html, useSignal} from "/static/vendor/ui.js";
import {post} from "/static/api.js";
import {now} from "/static/clock.js";
import {shop} from "/static/shop.js";
import {say} from "/static/words.js";
import {uuid7} from "/static/uuid.js";

const empty = {part: "", route_rev: "", pieces: "", wanted: "", due: "", works_order: "", customer: "", order_line: "", lots: "", priority: ""};

// bodyOf is what the form says, without what was left empty.
export function bodyOf(d) {
  const body = {part: d.part.trim(), route_rev: d.route_rev, pieces: Number(d.pieces)};
  for (const k of ["due", "works_order", "customer", "order_line"]) if (d[k].trim()) body[k] = d[k].trim();
  for (const k of ["wanted", "priority"]) if (Number(d[k])) body[k] = Number(d[k]);
  const lots = d.lots.split(/[,;\n]/).map((l) => l.trim()).filter(Boolean);
  if (lots.length) body.material_lots = lots;
  return body;
}

let last = {text: "", id: ""};

// idOf keeps the id of what is sent again, so that a batch is released once.
function idOf(body) {
  const text = JSON.stringify(body);
  if (last.text !== text) last = {text, id: uuid7(now())};
  return last.id;
}

function Done({batch}) {
  const card = (paper) => html`<a class="button act" data-test=${"print-" + paper} href=${`/api/v1/batches/${batch.card}/card.pdf?paper=${paper}`}>${say("card.print", paper)}</a>`;
  return html`<p class="released" role="status" data-test="released" data-card=${batch.card}>${say("release.done", batch.works_order || batch.part)} <b>${batch.card}</b></p>
    <p class="deeds">${card("A5")}${card("A4")}<a class="button" href=${"/batch/" + batch.card}>${say("release.story")}</a></p>`;
}

function Fields({d, set, problem}) {
  const revs = shop.value.parts.filter((p) => p.part === d.part.trim());
  const field = (k, more = {}) => html`<label>${say("release." + k)}<input data-test=${"release-" + k} name=${k} value=${d[k]} onInput=${set(k)} aria-invalid=${problem.field === k ? "true" : undefined} ...${more} /></label>`;
  const whole = (min, max) => ({type: "number", min, max, step: 1});
  const parts = [...new Map(shop.value.parts.map((p) => [p.part, p.part_name])).entries()];
  return html`<div class="fields">
    ${field("part", {list: "parts", required: true, maxlength: 120, autocomplete: "off"})}
    <datalist id="parts">${parts.map(([p, name]) => html`<option key=${p} value=${p}>${name}</option>`)}</datalist>
    <label>${say("release.route_rev")}<select required data-test="release-route_rev" onChange=${set("route_rev")}>
      ${revs.length === 0 && html`<option value="">${say("release.part-first")}</option>`}
      ${revs.map((r) => html`<option key=${r.route_rev} value=${r.route_rev} selected=${r.route_rev === d.route_rev}>${say("release.rev", r.route_rev, r.drawing_rev || say("none"), r.operations.length)}</option>`)}</select></label>
    ${field("pieces", {...whole(1, 10000000), required: true})}${field("wanted", whole(1, 10000000))}${field("due", {type: "date"})}
    ${field("works_order", {maxlength: 120})}${field("customer", {maxlength: 120})}${field("order_line", {maxlength: 120})}${field("lots", {maxlength: 500})}${field("priority", whole(-1000, 1000))}</div>`;
}

export function Release({after}) {
  const draft = useSignal(empty), problem = useSignal({}), done = useSignal(null), busy = useSignal(false);
  const set = (k) => (e) => {
    const d = {...draft.value, [k]: e.target.value};
    if (k === "part") {
      const revs = shop.value.parts.filter((p) => p.part === d.part.trim());
      if (!revs.some((r) => r.route_rev === d.route_rev)) d.route_rev = revs.length ? revs.at(-1).route_rev : "";
    }
    draft.value = d;
  };
  const submit = async (e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    const body = bodyOf(draft.value);
    try {
      done.value = await post("/api/v1/batches", {id: idOf(body), ...body});
      last = {text: "", id: ""};
      draft.value = {...empty, part: draft.value.part, route_rev: draft.value.route_rev};
      problem.value = {};
      after();
    } catch (err) {
      problem.value = err;
      done.value = null;
    } finally { busy.value = false; }
  };
  if (!shop.value) return null;
  return html`<details class="release" data-test="release" open=${location.hash === "#release"}><summary>${say("release.title")}</summary>
    ${shop.value.parts.length === 0 ? html`<p class="empty">${say("release.no-parts")}</p>` : html`<form onSubmit=${submit}><${Fields} d=${draft.value} set=${set} problem=${problem.value} />
      ${problem.value.message && html`<p class="problem" role="alert" data-test="release-problem">${problem.value.message}</p>`}
      <p class="deeds"><button class="act" type="submit" disabled=${busy.value} data-test="release-go">${say("release.do")}</button></p></form>`}
    ${done.value && html`<${Done} batch=${done.value} />`}</details>`;
}
