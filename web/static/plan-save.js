// Saving the plan: from which date it holds, and what became of it. Whatever goes
// wrong, the drawing stays.
import {html, useSignal} from "/static/vendor/ui.js";
import {note} from "/static/shell.js";
import {get, post} from "/static/api.js";
import {now} from "/static/clock.js";
import {dateText, dayOf} from "/static/times.js";
import {say} from "/static/words.js";
import {bodyOf, canRedo, canUndo, dirty, draft, draftOf, forget, load, redo, saved, undo} from "/static/plan-draft.js";

// on is the date whose plan is being drawn; empty is today.
export const on = new URLSearchParams(location.search).get("on") || "";
export const planPath = "/api/v1/ground/plan" + (on ? "?on=" + encodeURIComponent(on) : "");

// next is when a plan that was made ahead comes to hold.
export function Next({next}) {
  if (!next) return null;
  const day = dayOf(next);
  return html`<p class="hint-line" data-test="plan-next">${say("plan.next", dateText(day))} <a href=${"/ground/plan?on=" + day}>${say("plan.next-open")}</a></p>`;
}

// elsewhere reports whether someone else saved a plan since this one was opened.
async function elsewhere() {
  const now = draftOf(await get(planPath, {stay: true})).draft;
  return JSON.stringify(now) !== JSON.stringify(saved.value);
}

export function Save({next}) {
  const from = useSignal(on), busy = useSignal(false), problem = useSignal(""), over = useSignal(false);
  const go = async () => {
    busy.value = true;
    problem.value = "";
    const sent = draft.value;
    try {
      if (!over.value && await elsewhere()) {
        over.value = true;
        problem.value = say("plan.elsewhere");
        return;
      }
      const plan = await post("/api/v1/ground/plan", bodyOf(sent, from.value), {stay: true});
      if (draft.value === sent) load(draftOf(plan).draft);
      else saved.value = draftOf(plan).draft;
      forget();
      over.value = false;
      next.value = plan.next || "";
      note("good", from.value ? say("plan.saved-from", dateText(from.value)) : say("plan.saved"));
    } catch (err) {
      problem.value = err.message + " " + say("plan.kept");
    } finally { busy.value = false; }
  };
  return html`<section class="save" data-test="plan-save-box" data-dirty=${String(dirty.value)}><p class="deeds"><button data-test="plan-undo" disabled=${!canUndo.value} onClick=${undo}>${say("plan.undo")}</button><button data-test="plan-redo" disabled=${!canRedo.value} onClick=${redo}>${say("plan.redo")}</button></p>
    <p class="deeds"><label>${say("plan.from")}<input type="date" data-test="plan-from" value=${from.value} onChange=${(e) => { from.value = e.target.value; }} /></label>
      <button class="act" data-test="plan-save" disabled=${busy.value || !dirty.value} onClick=${go}>${over.value ? say("plan.save-over") : say("plan.save")}</button></p>
    <p class="soft">${from.value ? (from.value < dayOf(now()) ? say("plan.from.past") : say("plan.from.later", dateText(from.value))) : say("plan.from.now")}</p>
    ${dirty.value && html`<p class="soft" data-test="plan-dirty">${say("plan.dirty")}</p>`}${problem.value && html`<p class="problem" role="alert" data-test="problem">${problem.value}</p>`}</section>`;
}
