// Before and after: did a change of route do what it should?
import {html, useEffect} from "/static/vendor/ui.js";
import {failed, me, start} from "/static/shell.js";
import {loadShop, shop} from "/static/shop.js";
import {say} from "/static/words.js";
import {choose, chosen} from "/static/filters.js";
import {useAnswer} from "/static/answer.js";
import {partsList, revsOf} from "/static/compare-form.js";
import {Changed} from "/static/compare-dots.js";
import {NumberField, Pick, PrintButton, Tabs} from "/static/compare-text.js";

// asked is the choice with what it leaves out: the first part with two routes,
// and its two newest.
function asked() {
  const c = chosen.value, two = partsList().filter(([p]) => revsOf(p).length > 1);
  const part = c.part && revsOf(c.part).length > 1 ? c.part : two.length ? two[0][0] : "", revs = part ? revsOf(part) : [];
  const after = revs.includes(c.after) ? c.after : revs.at(-1), before = revs.includes(c.before) && c.before !== after ? c.before : revs.filter((r) => r !== after).at(-1);
  const smallest = Number(c.smallest) > 0 ? Number(c.smallest) : 10;
  return {part, before, after, smallest, parts: two, wrong: c.part && c.part !== part};
}

function Form({a}) {
  const revs = revsOf(a.part), options = (but) => revs.filter((r) => r !== but).map((r) => [r, say("compare.route", r)]);
  return html`<form class="ask" onSubmit=${(e) => e.preventDefault()}><div class="fields"><${Pick} label=${say("filter.part")} test="part" wide value=${a.part} options=${a.parts} set=${(part) => choose({part, before: "", after: ""})} />
    <${Pick} label=${say("change.before")} test="before" value=${a.before} options=${options(a.after)} set=${(before) => choose({before, after: a.after})} />
    <${Pick} label=${say("change.after")} test="after" value=${a.after} options=${options(a.before)} set=${(after) => choose({after, before: a.before})} />
    <${NumberField} label=${say("change.smallest")} test="smallest" value=${a.smallest} min=${1} max=${100} set=${(smallest) => choose({smallest})} hint=${say("change.smallest.why")} /></div></form>`;
}

function Page() {
  useEffect(() => { loadShop().catch(failed); }, []);
  const a = shop.value ? asked() : null;
  const {value: v, problem} = useAnswer(a && a.part ? "/api/v1/changes?" + new URLSearchParams({part: a.part, before: a.before, after: a.after, smallest: a.smallest / 100}) : "");
  const head = html`<h1>${say("change.title")}</h1><${Tabs} part=${a ? a.part : ""} />`;
  if (!a) return html`${head}<p class="soft">${say("loading")}</p>`;
  if (!a.part) return html`${head}<p class="empty">${say("change.no-parts")}</p>`;
  return html`${head}<${PrintButton} /><${Form} a=${a} />${a.wrong && html`<p class="notice">${say("change.one-route", chosen.value.part)}</p>`}${problem && html`<p class="problem" data-test="failed">${problem}</p>`}${v ? html`<${Changed} v=${v} />` : html`<p class="soft">${say("loading")}</p>`}`;
}

start("change.title", () => (me.value ? html`<${Page} />` : null));
