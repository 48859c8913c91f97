// The key figures of ISO 22400-2 that hand scans can honestly give, under the
// standard's names.
import {html} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {percent} from "/static/amounts.js";
import {CsvButton} from "/static/csv.js";

export function Kpis({list, withheld}) {
  const names = list[0].kpis;
  return html`<section><details data-test="kpis"><summary><span>${say("machines.kpis")}</span></summary>
    <p class="notice" data-test="withheld">${withheld}</p>
    <table class="stack kpis"><thead><tr><th>${say("head.machine")}</th>${names.map((k) => html`<th key=${k.name} class="n">${k.name} <small>${k.formula}</small></th>`)}</tr></thead>
      <tbody>${list.map((m) => html`<tr key=${m.machine}><th scope="row">${m.machine}</th>${m.kpis.map((k) => html`<td key=${k.name} class="n" data-label=${`${k.name}, ${k.formula}`}>${percent(k.value)}</td>`)}</tr>`)}</tbody></table>
    <p class="soft">${say("machines.kpis.how")}</p>
    <p class="deeds"><${CsvButton} name="machine-kpis" head=${["machine", ...names.map((k) => `${k.name} = ${k.formula}`)]} rows=${() => list.map((m) => [m.machine, ...m.kpis.map((k) => k.value)])} /></p></details></section>`;
}
