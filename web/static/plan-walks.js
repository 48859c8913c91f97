// The walk between two places, as it is drawn and as it is saved; and what is odd
// about the plan.
import {html, useEffect, useMemo, useSignal} from "/static/vendor/ui.js";
import {get} from "/static/api.js";
import {say} from "/static/words.js";
import {change, draft, saved, selected} from "/static/plan-draft.js";
import {split} from "/static/plan-edit.js";
import {measured} from "/static/plan-tools.js";
import {walk, warnings} from "/static/plan-walk.js";
import {on} from "/static/plan-save.js";

const text = (m, by) => `${say("m", Math.round(m * 10) / 10)} ${say("ground.by." + by + ".short")}`;

function End({side}) {
  const set = (e) => { measured.value = {...measured.value, [side]: e.target.value}; };
  return html`<label>${say("plan.walk-" + side)}<select data-test=${"walk-" + side} onChange=${set}><option value="">${say("none")}</option>${draft.value.places.map((p) => html`<option key=${p.machine} value=${p.machine} selected=${measured.value[side] === p.machine}>${p.machine} ${p.name}</option>`)}</select></label>`;
}

export function Walk() {
  const {from, to} = measured.value, d = draft.value, server = useSignal(null);
  const w = useMemo(() => (from && to ? walk(d, from, to) : null), [d, from, to]);
  useEffect(() => {
    server.value = null;
    if (!from || !to || on) return;
    get(`/api/v1/ground/walk?from=${encodeURIComponent(from)}&to=${encodeURIComponent(to)}`, {stay: true}).then((a) => { server.value = a; }, () => {});
  }, [from, to, saved.value]);
  return html`<section><h2>${say("plan.walk")}</h2><p class="deeds"><${End} side="from" /><${End} side="to" /></p>
    ${w && html`<p data-test="walk-preview">${say("plan.preview")} <b>${text(w.metres, w.by)}</b></p>`}
    ${w && server.value && html`<p data-test="walk-saved" data-metres=${server.value.metres}>${say("plan.measured")} <b>${text(server.value.metres, server.value.by || "rectangular")}</b></p>`}</section>`;
}

function Warning({w}) {
  const put = () => {
    const x = Math.round(w.at.x * 100) / 100, y = Math.round(w.at.y * 100) / 100;
    const [d, corner] = split(draft.value, w.a.from + "\n" + w.a.to, x, y);
    change({...d, aisles: d.aisles.flatMap((a) => (a.from === w.b.from && a.to === w.b.to ? [{from: a.from, to: corner, metres: 0}, {from: corner, to: a.to, metres: 0}] : [a]))});
    selected.value = {kind: "corner", id: corner};
  };
  return html`<li data-test="plan-warning" data-kind=${w.kind} data-id=${w.id}>${w.about ? html`<button class="quiet" onClick=${() => { selected.value = w.about; }}>${w.id}</button>` : ""} ${say("plan.warn." + w.kind, w.other || (w.metres ? Math.round(w.metres * 10) / 10 : ""))}
    ${w.kind === "crossing" && html` <button data-test="plan-put-corner" onClick=${put}>${say("plan.put-corner")}</button>`}</li>`;
}

export function Warnings() {
  const list = useMemo(() => warnings(draft.value), [draft.value]);
  if (list.length === 0) return null;
  return html`<section class="warnings" data-test="plan-warnings"><h2>${say("plan.warnings")}</h2><ul>${list.slice(0, 30).map((w, i) => html`<${Warning} key=${i} w=${w} />`)}</ul></section>`;
}
