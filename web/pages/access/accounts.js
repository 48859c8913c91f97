// Accounts of people, and bearer tokens of programs: make one, see until when it
// holds, revoke it.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get, post } from "../../lib/api.js";
import { Form } from "../../lib/form.js";
import { At } from "../../lib/marks.js";
import { failed, me, note, start } from "../../lib/shell.js";
import { known, say } from "../../lib/words.js";
import { Listed, newPassword, remove } from "./parts.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["Account"]} Account
 * @typedef {Schema["Token"]} Token
 * @typedef {Schema["Person"]} Person
 */

// Bearer tokens of programs: make one, see until when they hold, revoke them.

/** @param {{list: Token[], after: () => void}} props */
function List({ list, after }) {
  const gone = (/** @type {Token} */ x) =>
    remove("/api/v1/tokens/" + encodeURIComponent(x.id), x.name, after);
  const rows = list.map(
    (x) => html`<tr key=${x.id} data-test="token-row" data-name=${x.name}>
      <td data-label=${say("account.name")}><b>${x.name}</b></td>
      <td data-label=${say("account.role")}>${known("role." + x.role, x.role)}</td>
      <td data-label=${say("tokens.until")}>${x.until ? html`<${At} t=${x.until} />` : say("none")}</td>
      <td data-label=${say("account.by")}>${x.by}</td>
      <td><button data-test="remove" onClick=${() => gone(x)}>${say("tokens.revoke")}</button></td>
    </tr>`,
  );
  return html`<${Listed}
    rows=${rows}
    heads=${["account.name", "account.role", "tokens.until", "account.by"]}
    none=${say("tokens.none")}
  />`;
}

/**
 * Tokens needs the roles to choose from, as options.
 * @param {{roles: [string, string][]}} props
 */
function Tokens({ roles }) {
  const all = useSignal(/** @type {Token[] | null} */ (null)),
    given = useSignal("");
  const load = () =>
    get("/api/v1/tokens")
      .then((a) => {
        all.value = a.tokens;
      })
      .catch(failed);
  useEffect(() => {
    load();
  }, []);
  const add = async (/** @type {Record<string, string>} */ v) => {
    given.value = (
      await post("/api/v1/tokens", { name: v.name.trim(), role: v.role, days: Number(v.days) })
    ).secret;
    load();
  };
  const fields = [
    { name: "name", label: say("tokens.what"), required: true, maxlength: 60, autocomplete: "off" },
    { name: "role", label: say("account.role"), options: roles },
    {
      name: "days",
      label: say("tokens.days"),
      type: "number",
      min: 1,
      max: 3650,
      required: true,
      value: "365",
    },
  ];
  return html`<section>
    <h2>${say("tokens.title")}</h2>
    ${all.value && html`<${List} list=${all.value} after=${load} />`}
    <${Form} test="token" act=${say("tokens.do")} go=${add} fields=${fields} />
    ${given.value &&
    html`<div class="given" role="status">
      <p>${say("tokens.once")}</p>
      <p class="link" data-test="token-given">${given.value}</p>
    </div>`}
  </section>`;
}

// Who may sign in, the tokens of programs, and the badges of the floor.

const roles = ["operator", "inspector", "supervisor", "planner", "administrator"];
const roleOptions = roles.map((r) => [r, `${say("role." + r)}: ${say(`role.${r}.may`)}`]);
const tokenRoles = [["watcher", `${say("role.watcher")}: ${say("role.watcher.may")}`], ...roleOptions];
const fields = [
  { name: "name", label: say("account.name"), required: true, maxlength: 60, autocomplete: "off" },
  newPassword(),
  { name: "role", label: say("account.role"), options: roleOptions },
];

/** @param {{list: Account[], after: () => void}} props */
function Accounts({ list, after }) {
  const gone = (/** @type {Account} */ a) =>
    remove("/api/v1/accounts/" + encodeURIComponent(a.name), a.name, after);
  const rows = list.map(
    (a) => html`<tr key=${a.name} data-test="account-row" data-name=${a.name}>
      <td data-label=${say("account.name")}><b>${a.name}</b></td>
      <td data-label=${say("account.role")}>${known("role." + a.role, a.role)}</td>
      <td data-label=${say("account.by")}>${a.by}</td>
      <td>
        ${a.name !== me.value?.name &&
        html`<button data-test="remove" onClick=${() => gone(a)}>${say("accounts.remove")}</button>`}
      </td>
    </tr>`,
  );
  return html`<${Listed}
    rows=${rows}
    heads=${["account.name", "account.role", "account.by"]}
    none=${say("accounts.none")}
  />`;
}

/** @param {{list: Person[], after: () => void}} props */
function People({ list, after }) {
  const replace = (/** @type {Person} */ p) =>
    post(`/api/v1/people/${encodeURIComponent(p.person)}/badge`, {})
      .then((/** @type {Person} */ n) => {
        note("good", say("people.replaced", n.name, n.code));
        after();
      })
      .catch(failed);
  const rows = list.map(
    (p) => html`<tr key=${p.code} data-test="person-row" data-person=${p.person}>
      <td data-label=${say("people.number")}>${p.person}</td>
      <td data-label=${say("account.name")}><b>${p.name}</b></td>
      <td data-label=${say("account.role")}>${known("role." + p.role, p.role)}</td>
      <td data-label=${say("people.code")}>${p.code}</td>
      <td><button data-test="replace" onClick=${() => replace(p)}>${say("people.replace")}</button></td>
    </tr>`,
  );
  return html`<${Listed}
    rows=${rows}
    heads=${["people.number", "account.name", "account.role", "people.code"]}
    none=${say("people.none")}
  />`;
}

function AccountsPage() {
  const accounts = useSignal(/** @type {Account[] | null} */ (null)),
    people = useSignal(/** @type {Person[]} */ ([]));
  const load = () =>
    get("/api/v1/accounts")
      .then((a) => {
        accounts.value = a.accounts;
      })
      .catch(failed);
  const loadPeople = () =>
    get("/api/v1/people")
      .then((a) => {
        people.value = a.people;
      })
      .catch(failed);
  useEffect(() => {
    load();
    loadPeople();
  }, []);
  const add = async (/** @type {Record<string, string>} */ v) => {
    await post("/api/v1/accounts", { name: v.name.trim(), password: v.password, role: v.role });
    note("good", say("accounts.added", v.name));
    load();
  };
  return html`
    <h1>${say("accounts.title")}</h1>
    ${accounts.value && html`<${Accounts} list=${accounts.value} after=${load} />`}
    <h2>${say("accounts.add")}</h2>
    <${Form} test="account" act=${say("accounts.do")} go=${add} clear fields=${fields} />
    <${Tokens} roles=${tokenRoles} />
    <section>
      <h2>${say("people.title")}</h2>
      <p class="soft">${say("people.what")}</p>
      <${People} list=${people.value} after=${loadPeople} />
      ${people.value.length > 0 &&
      html`<p class="deeds">
        <a class="button" href="/api/v1/sheets/badges.pdf">${say("sheet.badges")}</a>
      </p>`}
    </section>
  `;
}

start(() => (me.value ? html`<${AccountsPage} />` : null));
