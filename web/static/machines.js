// What the machines did with their hours, and what is ahead of them. Which of the
// two is shown, and of what, stands in the address.
import {html, useEffect} from "/static/vendor/ui.js";
import {failed, me, start} from "/static/shell.js";
import {loadShop} from "/static/shop.js";
import {choose, chosen} from "/static/filters.js";
import {say} from "/static/words.js";
import {Hours} from "/static/machines-hours.js";
import {Ahead} from "/static/machines-ahead.js";

const views = ["hours", "ahead"];

function Page() {
  const view = chosen.value.view === "ahead" ? "ahead" : "hours";
  useEffect(() => { loadShop().catch(failed); }, []);
  return html`<h1>${say("machines.title")}</h1>
    <p class="deeds views">${views.map((v) => html`<button key=${v} data-test=${"view-" + v} aria-pressed=${v === view} onClick=${() => choose({view: v === "hours" ? "" : v})}>${say("machines.view." + v)}</button>`)}</p>
    ${view === "ahead" ? html`<${Ahead} />` : html`<${Hours} />`}`;
}

start("machines.title", () => (me.value ? html`<${Page} />` : null));
