// The pace board: a page to work with, or with ?wall=1 a wall screen.
import { openBoard } from "../../lib/board.js";
import { failed, me, start } from "../../lib/shell.js";
import { loadShop } from "../../lib/shop.js";
import { isWall, onReopen, startWall } from "../../lib/wall.js";
import { PacePage } from "./page.js";
import { Wall } from "./wall.js";

if (isWall()) {
  startWall(Wall, "pace");
} else {
  start(PacePage).then(() => {
    if (!me.value) return;
    loadShop().catch(failed);
    openBoard({ name: "pace", onReopen });
  });
}
