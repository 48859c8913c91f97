// Where pieces and minutes were lost: as a Pareto, batch by batch, and along the
// route. What is asked for stands in the address.
import {html, useEffect} from "/static/vendor/ui.js";
import {failed, me, start} from "/static/shell.js";
import {loadShop, shop} from "/static/shop.js";
import {Answered, useAnswer} from "/static/answer.js";
import {choose, chosen, Filters, query, selection} from "/static/filters.js";
import {say} from "/static/words.js";
import {bys, kinds, measureOf, measures} from "/static/losses-sum.js";
import {Behind, Pareto, Totals} from "/static/losses-pareto.js";
import {Control} from "/static/losses-chart.js";
import {Routes} from "/static/losses-yield.js";

function Choice({name, list, word, value}) {
  return html`<label>${say("losses." + name)}<select data-test=${"losses-" + name} onChange=${(e) => choose({[name]: e.target.value, key: ""})}>${list.map((k) => html`<option key=${k} value=${k} selected=${k === value}>${say(word + k)}</option>`)}</select></label>`;
}

// Operations are those of the chosen part; none without one.
function OperationChoice() {
  const {part, route_rev, operation = ""} = chosen.value;
  const routes = shop.value && part ? shop.value.parts.filter((r) => r.part === part && (!route_rev || r.route_rev === route_rev)) : [];
  const list = [...new Set(routes.flatMap((r) => r.operations.map((o) => o.operation)))].sort((a, b) => a - b);
  if (list.length === 0) return null;
  return html`<label>${say("losses.operation")}<select data-test="losses-operation" onChange=${(e) => choose({operation: e.target.value, key: ""})}>
    <option value="" selected=${!operation}>${say("losses.all-operations")}</option>${list.map((n) => html`<option key=${n} value=${n} selected=${String(n) === operation}>${n}</option>`)}</select></label>`;
}

function MachineChoice() {
  const {machine = ""} = chosen.value, list = shop.value ? shop.value.machines.filter((m) => !["stores", "dock"].includes(m.kind)) : [];
  return html`<label>${say("head.machine")}<select data-test="losses-machine" onChange=${(e) => choose({machine: e.target.value, key: ""})}>
    <option value="" selected=${!machine}>${say("losses.all-machines")}</option>${list.map((m) => html`<option key=${m.machine} value=${m.machine} selected=${m.machine === machine}>${m.machine} ${m.name}</option>`)}</select></label>`;
}

function Page() {
  const {kind = "scrap", by = "reason"} = chosen.value;
  useEffect(() => { loadShop().catch(failed); }, []);
  const answer = useAnswer("/api/v1/losses?" + query([...selection, "kind", "by", "key", "machine", ...(chosen.value.part ? ["operation"] : [])]));
  const l = answer.value, m = l && measureOf(l);
  return html`<h1>${say("losses.title")}</h1><${Filters}><${OperationChoice} /><${MachineChoice} />
      <${Choice} name="kind" list=${kinds} word="losses.kind." value=${kind} /><${Choice} name="by" list=${bys} word="losses.by." value=${by} />
      <${Choice} name="measure" list=${measures(kind)} word="losses.measure." value=${m || "cost"} /><//>
    <${Answered} answer=${answer} />
    ${l && shop.value && html`<${Totals} l=${l} /><${Pareto} l=${l} /><${Behind} l=${l} /><${Control} l=${l} /><${Routes} l=${l} />`}`;
}

start("losses.title", () => (me.value ? html`<${Page} />` : null));
