// Bearer tokens of programs: make one, see until when they hold, revoke them.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, note} from "/static/shell.js";
import {del, get, post} from "/static/api.js";
import {known, say} from "/static/words.js";
import {At} from "/static/marks.js";
import {Form} from "/static/form.js";

function List({list, after}) {
  const revoke = (x) => del("/api/v1/tokens/" + encodeURIComponent(x.id)).then(() => { note("good", say("removed", x.name)); after(); }).catch(failed);
  if (list.length === 0) return html`<p class="empty">${say("tokens.none")}</p>`;
  return html`<table class="stack"><thead><tr><th scope="col">${say("account.name")}</th><th scope="col">${say("account.role")}</th><th scope="col">${say("tokens.until")}</th><th scope="col">${say("account.by")}</th><th></th></tr></thead>
    <tbody>${list.map((x) => html`<tr key=${x.id} data-test="token-row" data-name=${x.name}><td data-label=${say("account.name")}><b>${x.name}</b></td>
      <td data-label=${say("account.role")}>${known("role." + x.role, x.role)}</td><td data-label=${say("tokens.until")}>${x.until ? html`<${At} t=${x.until} />` : say("none")}</td>
      <td data-label=${say("account.by")}>${x.by}</td><td><button data-test="remove" onClick=${() => revoke(x)}>${say("tokens.revoke")}</button></td></tr>`)}</tbody></table>`;
}

// Tokens needs the roles to choose from, as options.
export function Tokens({roles}) {
  const all = useSignal(null), given = useSignal("");
  const load = () => get("/api/v1/tokens").then((a) => { all.value = a.tokens; }).catch(failed);
  useEffect(() => { load(); }, []);
  const add = async (v) => {
    given.value = (await post("/api/v1/tokens", {name: v.name.trim(), role: v.role, days: Number(v.days)})).secret;
    load();
  };
  const fields = [
    {name: "name", label: say("tokens.what"), required: true, maxlength: 60, autocomplete: "off"}, {name: "role", label: say("account.role"), options: roles},
    {name: "days", label: say("tokens.days"), type: "number", min: 1, max: 3650, required: true, value: "365"},
  ];
  return html`<section><h2>${say("tokens.title")}</h2>${all.value && html`<${List} list=${all.value} after=${load} />`}
    <${Form} test="token" act=${say("tokens.do")} go=${add} fields=${fields} />
    ${given.value && html`<div class="given" role="status"><p>${say("tokens.once")}</p><p class="link" data-test="token-given">${given.value}</p></div>`}</section>`;
}
