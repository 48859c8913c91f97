// The ground board: a page to work with, or with ?wall=1 a wall screen.
import {failed, me, start} from "/static/shell.js";
import {openBoard} from "/static/board.js";
import {loadShop} from "/static/shop.js";
import {isWall, onReopen, startWall} from "/static/wall-frame.js";
import {GroundPage} from "/static/ground-page.js";
import {GroundWall} from "/static/ground-wall.js";
import {followWalks} from "/static/ground-walks.js";

if (isWall()) {
  startWall("ground.title", GroundWall, "ground");
} else {
  start("ground.title", GroundPage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({name: "ground", onReopen});
    followWalks();
  });
}
