// Lead times of a part, a route, a customer, a works order or a period.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, me, start} from "/static/shell.js";
import {loadShop} from "/static/shop.js";
import {get} from "/static/api.js";
import {chosen, Filters, query, selection} from "/static/filters.js";
import {say} from "/static/words.js";
import {Head, Distribution, Over, Where} from "/static/history-charts.js";
import {OnFloor, Slowest} from "/static/history-lists.js";

function Page() {
  const h = useSignal(null), problem = useSignal("");
  useEffect(() => { loadShop().catch(failed); }, []);
  useEffect(() => {
    let mine = true;
    get("/api/v1/history?" + query(selection)).then((v) => { if (mine) { h.value = v; problem.value = ""; } })
      .catch((err) => { if (mine) problem.value = err.message; });
    return () => { mine = false; };
  }, [chosen.value]);
  const v = h.value;
  return html`<h1>${say("history.title")}</h1><${Filters} />
    ${problem.value && html`<p class="problem" data-test="failed">${problem.value}</p>`}
    ${!v ? html`<p class="soft">${say("loading")}</p>` : html`<${Head} h=${v} />
      ${v.ended === 0 ? html`<p class="empty" data-test="no-history">${say(v.open ? "history.only-open" : "history.none")}</p>` : html`<${Distribution} h=${v} /><${Over} h=${v} /><${Where} h=${v} /><${Slowest} h=${v} />`}
      <${OnFloor} h=${v} />`}`;
}

start("history.title", () => (me.value ? html`<${Page} />` : null));
