// Whether what is shown is in step with the server, and how old it is if not.
import {html, useComputed} from "/static/vendor/ui.js";
import {age, link} from "/static/board.js";
import {tick} from "/static/clock.js";
import {doubt} from "/static/doubt.js";
import {clockText, minuteText, span} from "/static/times.js";
import {say} from "/static/words.js";
import {Shape} from "/static/marks.js";

// stale says in words what is wrong with the link, or nothing.
export function stale() {
  if (doubt.value) return say("clock.doubt.wall");
  if (link.value === "out") return say("link.out");
  if (age.value > 0) return say("link.stale", span(age.value));
  return "";
}

export function LinkState({minutes}) {
  const bad = useComputed(stale);
  const clock = useComputed(() => (minutes ? minuteText : clockText)(tick.value));
  if (bad.value) return html`<p class="stale" role="alert" data-test="link-state" data-state="stale"><${Shape} kind="late" />${bad}</p>`;
  return html`<p class="in-step" data-test="link-state" data-state=${link.value}>${link.value === "step" ? say("link.step") : say("link.opening")} <b>${clock}</b></p>`;
}
