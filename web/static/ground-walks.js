// The walks of the choice: those of the week come with the board and live, all
// figures are asked for, and again when the board has moved.
import {computed, effect, signal} from "/static/vendor/ui.js";
import {get} from "/static/api.js";
import {about, rows} from "/static/board.js";
import {dayOf} from "/static/times.js";
import {choice, chosen} from "/static/ground-choice.js";

const patience = 1500; // ms that the board may go on moving before it is asked again

// of gives the rows of a kind, by the first part of their keys.
const of = (kind) => Object.entries(rows.value).filter(([k]) => k.startsWith(kind + "/")).map(([, r]) => r);
const keyed = (legs) => legs.map((l) => ({...l, key: l.from + ">" + l.to}));

export const places = computed(() => of("place").sort((a, b) => (a.machine < b.machine ? -1 : 1)));
export const weekLegs = computed(() => keyed(of("leg")).sort((a, b) => b.trips - a.trips || (a.key < b.key ? -1 : 1)));

// asked is what the server was asked and what it said: [{name, query, figures}];
// wrong is why it said nothing.
export const asked = signal([]);
export const wrong = signal("");

// sets is the legs to be drawn: one list, or two of routes laid over each other.
export const sets = computed(() => (choice.value.walks === "week" ? [weekLegs.value] : asked.value.map((a) => keyed(a.figures.legs))));

let turn = 0;

async function load() {
  if (!about.value) return;
  const mine = ++turn;
  const what = chosen(choice.value, dayOf(about.value.week));
  try {
    const got = await Promise.all(what.map(async (w) => ({...w, figures: await get("/api/v1/ground/walks?" + w.query)})));
    if (mine !== turn) return;
    asked.value = got;
    wrong.value = "";
  } catch (err) {
    if (mine !== turn) return;
    asked.value = [];
    wrong.value = err.message;
  }
}

// followWalks asks when the choice changes, and a moment after the board moved.
export function followWalks() {
  let soon, ready = false;
  const first = computed(() => Boolean(about.value));
  effect(() => {
    void choice.value;
    if (first.value) queueMicrotask(load); // what load reads must not set this off again
  });
  effect(() => {
    void rows.value;
    if (!ready) {
      ready = Boolean(rows.value && Object.keys(rows.value).length);
      return;
    }
    clearTimeout(soon);
    soon = setTimeout(load, patience);
  });
}
