// The waits board: a page to work with, or with ?wall=1 a wall screen.
import {render, html} from "/static/vendor/ui.js";
import {failed, learn, me, start} from "/static/shell.js";
import {openBoard} from "/static/board.js";
import {loadShop} from "/static/shop.js";
import {get} from "/static/api.js";
import {say} from "/static/words.js";
import {WaitsPage} from "/static/waits-page.js";
import {Wall} from "/static/wall.js";

const wall = new URLSearchParams(location.search).get("wall") === "1";

// onReopen takes the new page when the server came back as another version.
async function onReopen() {
  const was = me.value && me.value.version;
  const who = await get("/api/v1/me", {stay: true}).catch(() => null);
  if (who && was && who.version !== was) location.reload();
  loadShop().catch(() => {});
}

async function startWall() {
  document.documentElement.classList.add("wall");
  document.title = say("title", say("waits.title"));
  const root = document.getElementById("page");
  const again = () => setTimeout(startWall, 5000);
  try {
    await learn({stay: true});
    await loadShop();
  } catch (err) {
    render(html`<p class="wall-out" data-test="wall-out">${err.status === 401 ? say("wall.out") : err.message}</p>`, root);
    again();
    return;
  }
  render(html`<${Wall} />`, root);
  openBoard({onReopen});
}

if (wall) {
  startWall();
} else {
  start("waits.title", WaitsPage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({onReopen});
  });
}
