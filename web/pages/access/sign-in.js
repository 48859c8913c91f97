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

async function go(v) {
  await post("/api/v1/sign-in", { name: v.name, password: v.password }, { stay: true });
  location.assign(safeNext(new URLSearchParams(location.search).get("next")));
}

start(
  () => html`
    <h1>${say("sign-in.title")}</h1>
    <${Form} test="sign-in" fields=${fields} act=${say("sign-in.do")} go=${go} />
    <p class="soft">${say("sign-in.station")} <a href="/enrol">${say("sign-in.enrol")}</a></p>
  `,
  { anyone: true },
);
