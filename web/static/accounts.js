// Who may sign in, the tokens of programs, and the badges of the floor.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, me, note, start} from "/static/shell.js";
import {del, get, post} from "/static/api.js";
import {say, known} from "/static/words.js";
import {Form} from "/static/form.js";
import {Tokens} from "/static/tokens.js";

const roles = ["operator", "inspector", "supervisor", "planner", "administrator"];
const roleOptions = roles.map((r) => [r, `${say("role." + r)}: ${say(`role.${r}.may`)}`]);
const fields = [
  {name: "name", label: say("account.name"), required: true, maxlength: 60, autocomplete: "off"},
  {name: "password", label: say("account.password"), hint: say("account.password.hint"), type: "password", autocomplete: "new-password", required: true, minlength: 10, maxlength: 200},
  {name: "role", label: say("account.role"), options: roleOptions},
];

function Accounts({list, after}) {
  const remove = (a) => del("/api/v1/accounts/" + encodeURIComponent(a.name)).then(() => { note("good", say("removed", a.name)); after(); }).catch(failed);
  if (list.length === 0) return html`<p class="empty">${say("accounts.none")}</p>`;
  return html`<table class="stack"><thead><tr><th scope="col">${say("account.name")}</th><th scope="col">${say("account.role")}</th><th scope="col">${say("account.by")}</th><th></th></tr></thead>
    <tbody>${list.map((a) => html`<tr key=${a.name} data-test="account-row" data-name=${a.name}><td data-label=${say("account.name")}><b>${a.name}</b></td><td data-label=${say("account.role")}>${known("role." + a.role, a.role)}</td><td data-label=${say("account.by")}>${a.by}</td>
      <td>${a.name !== me.value.name && html`<button data-test="remove" onClick=${() => remove(a)}>${say("accounts.remove")}</button>`}</td></tr>`)}</tbody></table>`;
}

function People({list, after}) {
  const replace = (p) => post(`/api/v1/people/${encodeURIComponent(p.person)}/badge`, {}).then((n) => { note("good", say("people.replaced", n.name, n.code)); after(); }).catch(failed);
  if (list.length === 0) return html`<p class="empty">${say("people.none")}</p>`;
  return html`<table class="stack"><thead><tr><th scope="col">${say("people.number")}</th><th scope="col">${say("account.name")}</th><th scope="col">${say("account.role")}</th><th scope="col">${say("people.code")}</th><th></th></tr></thead>
    <tbody>${list.map((p) => html`<tr key=${p.code} data-test="person-row" data-person=${p.person}><td data-label=${say("people.number")}>${p.person}</td><td data-label=${say("account.name")}><b>${p.name}</b></td><td data-label=${say("account.role")}>${known("role." + p.role, p.role)}</td><td data-label=${say("people.code")}>${p.code}</td>
      <td><button data-test="replace" onClick=${() => replace(p)}>${say("people.replace")}</button></td></tr>`)}</tbody></table>`;
}

function AccountsPage() {
  const accounts = useSignal(null), people = useSignal([]);
  const load = () => get("/api/v1/accounts").then((a) => { accounts.value = a.accounts; }).catch(failed);
  const loadPeople = () => get("/api/v1/people").then((a) => { people.value = a.people; }).catch(failed);
  useEffect(() => {
    load();
    loadPeople();
  }, []);
  const add = async (v) => {
    await post("/api/v1/accounts", {name: v.name.trim(), password: v.password, role: v.role});
    note("good", say("accounts.added", v.name));
    load();
  };
  return html`<h1>${say("accounts.title")}</h1>${accounts.value && html`<${Accounts} list=${accounts.value} after=${load} />`}
    <h2>${say("accounts.add")}</h2><${Form} test="account" act=${say("accounts.do")} go=${add} clear fields=${fields} />
    <${Tokens} roles=${roleOptions} />
    <section><h2>${say("people.title")}</h2><p class="soft">${say("people.what")}</p><${People} list=${people.value} after=${loadPeople} />
      ${people.value.length > 0 && html`<p class="deeds"><a class="button" href="/api/v1/sheets/badges.pdf">${say("sheet.badges")}</a></p>`}</section>`;
}

start("accounts.title", () => (me.value ? html`<${AccountsPage} />` : null));
