// The first account, made with the one-time code that the first start printed.
import { html } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { Form } from "../../lib/form.js";
import { start } from "../../lib/shell.js";
import { say } from "../../lib/words.js";
import { newPassword } from "./parts.js";

const code = new URLSearchParams(location.search).get("code") || "";
history.replaceState(null, "", "/first"); // the code is not for the history

const fields = [
  {
    name: "code",
    label: say("first.code"),
    value: code,
    required: true,
    maxlength: 20,
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: false,
  },
  { name: "name", label: say("account.name"), autocomplete: "username", required: true, maxlength: 60 },
  newPassword(),
];

/** @param {Record<string, string>} v */
async function go(v) {
  await post("/api/v1/first", v, { stay: true });
  location.assign("/");
}

start(
  () =>
    html`
      <h1>${say("first.title")}</h1>
      <p>${say("first.what")}</p>
      <${Form} test="first" fields=${fields} act=${say("first.do")} go=${go} />
    `,
  { anyone: true },
);
