// The pace board: a page to work with, or with ?wall=1 a wall screen.
import {failed, me, start} from "/static/shell.js";
import {openBoard} from "/static/board.js";
import {loadShop} from "/static/shop.js";
import {PacePage} from "/static/pace-page.js";
import {PaceWall} from "/static/pace-wall.js";
import {isWall, onReopen, startWall} from "/static/wall-frame.js";

if (isWall()) {
  startWall("pace.title", PaceWall, "pace");
} else {
  start("pace.title", PacePage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({name: "pace", onReopen});
  });
}
