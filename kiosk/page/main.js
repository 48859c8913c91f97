// The station page: starts it, and says which view is shown.
import { computed, effect, html, render } from "../../web/lib/vendor/ui.js";
import { asksAs, get, measureClock } from "../../web/lib/api.js";
import { BatchView, UndoBar } from "./batch.js";
import { CameraView } from "./camera.js";
import { ChooseView, EnrolView, PlateView, wantsEnrolling } from "./choose.js";
import { keepClock, recallClock, setPace, startClock } from "../../web/lib/clock.js";
import { Edge } from "./edge.js";
import { layPractice, recallFloor } from "./floor.js";
import { meet, onBroken, onRead } from "./flow.js";
import { openCard, refreshOpen, refreshOwn, reopen, useMachines, watchWho } from "./front.js";
import { keyTyped, typedRead, useKeys, wanted } from "./keys.js";
import { install } from "./install.js";
import { LanguageView } from "./language.js";
import { applyTheme, LearnView, MenuView } from "./menu.js";
import { holdOn } from "./box.js";
import { Lost } from "./lives.js";
import { drained, heard, link, notHeard, seen, setDevice, startOutbox, turnedAway } from "./outbox.js";
import { TypeView } from "./pads.js";
import { PracticeBar, PracticeView, watchPractice } from "./practice.js";
import { recallOperator, watchOperator, watchTaps } from "./people.js";
import { practising, toPractice } from "./practising.js";
import { watchPresses } from "./press.js";
import { listen } from "./scanner.js";
import { applySize, SizeView } from "./size.js";
import { noStation, refreshBoard } from "./look.js";
import { answer, asked, current, cutOff, me, mine, open, over, screen, shop } from "./state.js";
import { recallAll, remember, remembered } from "./state.js";
import { learnServers } from "../../web/lib/servers.js";
import { setZone } from "../../web/lib/times.js";
import { Answer, AnswersView } from "./answers.js";
import { watchWhen } from "./when.js";
import { say } from "../../web/lib/words.js";
import { Bar, HereView } from "./work.js";

const BOARD_MS = 4000;

/** @type {Record<string, (() => unknown) | undefined>} */
const OVER = {
  camera: CameraView,
  language: LanguageView,
  menu: MenuView,
  type: TypeView,
  size: SizeView,
  learn: LearnView,
  answers: AnswersView,
  plate: PlateView,
};

function App() {
  switch (screen.value) {
    case "loading":
      return html`<main class="panel"><${Lost} /><h1>${say("loading")}</h1></main><${Edge} />`;
    case "enrol":
      return html`
        <${Lost} />
        <${EnrolView} again=${enrolled} />
        ${answer.value && html`<${Answer} />`}
        <${Edge} />
      `;
    case "choose":
      return html`<${Lost} /><${ChooseView} />${answer.value && html`<${Answer} />`}<${Edge} />`;
  }
  const View = OVER[over.value];
  return html`
    ${practising && html`<${PracticeBar} />`}
    <${Bar} />
    <${Lost} />
    <main class=${"work" + (open.value || View || answer.value ? " opened" : "")}>
      ${practising ? html`<${PracticeView} />` : html`<${HereView} />`}
      <div class="front">
        ${View
          ? html`<${Over} view=${View} />`
          : open.value
            ? html`<${BatchView} />`
            : answer.value
              ? html`<${Answer} />`
              : html`<p class="idle">${say("here.scan")}</p>`}
      </div>
    </main>
    <${UndoBar} />
    <${Edge} />
  `;
}

// Escape closes what lies over the screen.
function Over(/** @type {{view: () => unknown}} */ { view }) {
  useKeys((k) => k === "key.back" && ((over.value = ""), true));
  return html`<${view} />`;
}

let enrolling = wantsEnrolling();

const enrolled = () => {
  enrolling = false;
  start();
};

// Asks who we are and what the shop is. A device that knows goes on with that at once,
// and without a server.
async function start() {
  await goOnAlone();
  if (practising) return startPractice();
  try {
    const m = await get("/api/v1/me");
    heard(true);
    learnServers(m);
    // The code is for a device that is no station; a station stays what it is.
    if (enrolling && m.how !== "station") return (screen.value = "enrol");
    cutOff.value = false;
    setPace(m.pace);
    setZone(m.zone);
    await setDevice(m.device || (m.how === "station" ? remembered("device") || "" : ""));
    measureClock().catch(() => {});
    if (m.how === "station") holdOn();
    meet(m);
    const { machines, reasons, seq } = await get("/api/v1/shop");
    shop.value = { machines, reasons };
    seen(seq);
    remember("known", { me: m, shop: shop.value });
    settle(m.machine || "");
  } catch (e) {
    const problem = /** @type {import("../../web/lib/api.js").Problem} */ (e);
    if (problem.status === 401) return noStation();
    notHeard(problem);
    refreshBoard(current.value);
    setTimeout(start, 5000);
  }
}

async function goOnAlone() {
  const known = remembered("known");
  if (!known || screen.value !== "loading" || enrolling) return;
  recallClock();
  setZone(known.me.zone);
  await setDevice(known.me.device || "");
  me.value = known.me;
  shop.value = known.shop;
  settle(known.me.machine || "");
}

// A device that knows no shop has nothing to practise at.
function startPractice() {
  if (screen.value !== "work") return toPractice("");
  layPractice();
  watchPractice();
}

function settle(/** @type {string} */ own) {
  if (screen.value === "work") return;
  const there = (/** @type {string} */ id) => shop.value.machines.some((m) => m.machine === id);
  const before = (remembered("machines") || []).filter(there);
  const ids = before.length ? before : own && there(own) ? [own] : [];
  if (!ids.length) return (screen.value = "choose");
  const front = remembered("machine") ?? "";
  const opened = remembered("front");
  useMachines(ids, ids.includes(front) ? front : ids[0]);
  screen.value = "work";
  if (!new URLSearchParams(location.search).has("card")) reopen(opened);
}

// A card that a phone read brings its code along, and the operation.
function cardInAddress() {
  const read = new URLSearchParams(location.search),
    card = read.get("card");
  if (card && screen.value === "work") {
    history.replaceState(null, "", "/station");
    openCard(card, Number(read.get("operation")) || 0);
  }
}

// A station never leaves for the page of signing in.
asksAs({ stay: true, patience: 10000 });
applyTheme();
applySize();
watchWho();
render(html`<${App} />`, /** @type {HTMLElement} */ (document.getElementById("page")));
listen({ scan: onRead, key: keyTyped, typed: typedRead, broken: onBroken, wants: wanted });
watchPresses();
watchTaps();
startClock();
if (!practising) {
  keepClock(measureClock);
  install();
}
await startOutbox();
await recallAll();
recallOperator();
await recallFloor();
await start();
cardInAddress();
screen.subscribe(cardInAddress);
// What is new begins at the top.
effect(() => {
  void [open.value?.card, asked.value, answer.value, over.value, screen.value];
  document.querySelector("main")?.scrollTo(0, 0);
});
setInterval(() => {
  watchOperator();
  watchWhen();
  refreshOwn();
}, 1000);
// What the server says of what was sent takes the place of what this station thought.
drained.subscribe((n) => n && screen.value === "work" && refreshOpen());
turnedAway.subscribe((n) => n && me.value && noStation());
// Nothing answers any more: what is shown is what this station knows.
const isAlone = computed(() => link.value.alone);
isAlone.subscribe((yes) => yes && screen.value === "work" && setTimeout(refreshOpen));
setInterval(() => {
  if (document.hidden || screen.value !== "work") return;
  for (const id of mine.value) if (id !== current.value) refreshBoard(id);
  if (open.value && !asked.value && !answer.value) refreshOpen();
  else refreshBoard(current.value);
}, BOARD_MS);
