// A proposal becomes a route revision that batches can be released on.
import {html, useSignal} from "/static/vendor/ui.js";
import {may} from "/static/shell.js";
import {post} from "/static/api.js";
import {loadShop} from "/static/shop.js";
import {say} from "/static/words.js";
import {state} from "/static/compare-state.js";

export function Release({i}) {
  const ask = state.value.routes[i], rev = useSignal(""), wrong = useSignal(""), done = useSignal(""), busy = useSignal(false);
  if (!ask || !ask.combine) return null;
  if (!may("plan")) return html`<p class="soft">${say("release.planners")}</p>`;
  const go = async (e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    wrong.value = "";
    try {
      const r = await post("/api/v1/compare/release", {part: state.value.part, route: ask, route_rev: rev.value.trim()});
      done.value = r.route_rev;
      await loadShop();
    } catch (err) { wrong.value = err.message; } finally { busy.value = false; }
  };
  if (done.value) return html`<p class="released" role="status" data-test="route-released">${say("compare.released", done.value, state.value.part)} <a class="button" href="/batches#release">${say("compare.to-batches")}</a></p>`;
  return html`<form class="release-route" onSubmit=${go}><h3>${say("compare.release", ask.name)}</h3><p class="soft">${say("compare.release.how")}</p>
    <p class="deeds"><label>${say("compare.release.rev")}<input required maxlength="40" autocomplete="off" value=${rev.value} data-test="release-rev" onInput=${(e) => { rev.value = e.target.value; }} /></label><button class="act" type="submit" disabled=${busy.value} data-test="release-route">${say("compare.release.do")}</button></p>
    ${wrong.value && html`<p class="problem" role="alert" data-test="release-problem">${wrong.value}</p>`}</form>`;
}
