// Signing in, by name and password.
import { html } from "../../lib/vendor/ui.js";
import { post, safeNext } from "../../lib/api.js";
import { Form } from "../../lib/form.js";
import { start } from "../../lib/shell.js";
import { say } from "../../lib/words.js";

const fields = [
  {
    name: "name",
    label: say("account.name"),
    autocomplete: "username",
    required: true,
    maxlength: 60,
    autofocus: true,
  },
  {
    name: "password",
    label: say("account.password"),
    type: "password",
    autocomplete: "current-password",
    required: true,
    maxlength: 200,
  },
];

/**
 * startOf is the page that someone in a role begins with.
 * @param {string} role
 */
const startOf = (role) => (role === "supervisor" || role === "planner" ? "/morning" : "/");

/** @param {Record<string, string>} v */
async function go(v) {
  const who = await post("/api/v1/sign-in", { name: v.name, password: v.password }, { stay: true });
  const next = new URLSearchParams(location.search).get("next");
  location.assign(safeNext(next && next !== "/" ? next : startOf(who.role)));
}

start(
  () => html`
    <h1>${say("sign-in.title")}</h1>
    <${Form} test="sign-in" fields=${fields} act=${say("sign-in.do")} go=${go} />
    <p class="soft">${say("sign-in.station")} <a href="/enrol">${say("sign-in.enrol")}</a></p>
  `,
  { anyone: true },
);
