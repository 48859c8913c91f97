// Stations and wall screens: enrol them, see them, take them off.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, me, note, start} from "/static/shell.js";
import {del, get, post} from "/static/api.js";
import {loadShop, machineName, shop} from "/static/shop.js";
import {say} from "/static/words.js";
import {At} from "/static/marks.js";
import {Form} from "/static/form.js";
import {Screen, ScreenList} from "/static/screens.js";

const nameField = () => ({name: "name", label: say("stations.name"), required: true, maxlength: 60, autocomplete: "off"});

function Enrol() {
  const given = useSignal(null);
  const machines = [["", say("stations.later")], ...shop.value.machines.map((m) => [m.machine, `${m.machine} ${m.name}`])];
  const go = async (v) => {
    given.value = await post("/api/v1/enrol-codes", v.machine ? {name: v.name.trim(), machine: v.machine} : {name: v.name.trim()});
  };
  return html`<h2>${say("stations.enrol")}</h2><${Form} test="enrol-code" act=${say("stations.give")} go=${go} clear fields=${[nameField(), {name: "machine", label: say("head.machine"), options: machines}]} />
    ${given.value && html`<div class="given" role="status"><p>${say("stations.type", me.value?.public_url || location.origin)}</p><p class="code" data-test="enrol-code-given">${given.value.code}</p><p class="soft">${say("stations.minutes", given.value.minutes)}</p></div>`}`;
}

function List({list, after}) {
  const remove = (x) => del(`/api/v1/stations/${encodeURIComponent(x.id)}`).then(() => { note("good", say("removed", x.name)); after(); }).catch(failed);
  if (list.length === 0) return html`<p class="empty">${say("stations.none")}</p>`;
  return html`<table class="stack"><thead><tr><th scope="col">${say("stations.name")}</th><th scope="col">${say("head.machine")}</th><th scope="col">${say("head.since")}</th><th></th></tr></thead>
    <tbody>${list.map((x) => html`<tr key=${x.id} data-test="stations-row" data-name=${x.name}><td data-label=${say("stations.name")}><b>${x.name}</b> ${x.device && html`<small>${x.device}</small>`}</td>
      <td data-label=${say("head.machine")}>${x.machine || say("stations.later")} <small>${machineName(x.machine)}</small></td>
      <td data-label=${say("head.since")}><${At} t=${x.made} /> ${x.by && html`<small>${say("by", x.by)}</small>`}</td><td><button data-test="remove" onClick=${() => remove(x)}>${say("stations.remove")}</button></td></tr>`)}</tbody></table>`;
}

function StationsPage() {
  const all = useSignal(null);
  const load = () => get("/api/v1/stations").then((a) => { all.value = a; }).catch(failed);
  useEffect(() => {
    loadShop().then(load, failed);
    const t = setInterval(load, 5000);
    return () => clearInterval(t);
  }, []);
  if (!all.value || !shop.value) return html`<h1>${say("stations.title")}</h1><p class="soft">${say("loading")}</p>`;
  return html`<h1>${say("stations.title")}</h1><section><${List} list=${all.value.stations} after=${load} /><${Enrol} /></section>
    <section><h1>${say("screens.title")}</h1><${ScreenList} list=${all.value.screens} after=${load} /><${Screen} after=${load} /></section>`;
}

start("stations.title", () => (me.value ? html`<${StationsPage} />` : null));
