// Making this device a station, with the code of a supervisor.
import { html } from "../../lib/vendor/ui.js";
import { post } from "../../lib/api.js";
import { Form } from "../../lib/form.js";
import { start } from "../../lib/shell.js";
import { say } from "../../lib/words.js";

const fields = [
  {
    name: "code",
    label: say("enrol.code"),
    required: true,
    maxlength: 20,
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: false,
    autofocus: true,
    class: "code-field",
  },
];

async function go(v) {
  await post("/api/v1/enrol", { code: v.code.trim() }, { stay: true });
  location.assign("/station");
}

start(
  () =>
    html`
      <h1>${say("enrol.title")}</h1>
      <p>${say("enrol.what")}</p>
      <${Form} test="enrol" fields=${fields} act=${say("enrol.do")} go=${go} />
    `,
  { anyone: true },
);
