// The waits board: a page to work with, or with ?wall=1 a wall screen.
import {failed, me, start} from "/static/shell.js";
import {openBoard} from "/static/board.js";
import {loadShop} from "/static/shop.js";
import {WaitsPage} from "/static/waits-page.js";
import {Wall} from "/static/wall.js";
import {isWall, onReopen, startWall} from "/static/wall-frame.js";

if (isWall()) {
  startWall("waits.title", Wall, "waits");
} else {
  start("waits.title", WaitsPage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({onReopen});
  });
}
