// Making this device a station, with the code of a supervisor.
import {html} from "/static/vendor/ui.js";
import {start} from "/static/shell.js";
import {post} from "/static/api.js";
import {say} from "/static/words.js";
import {Form} from "/static/form.js";

const fields = [{name: "code", label: say("enrol.code"), required: true, maxlength: 20, autocomplete: "off", autocapitalize: "characters", spellcheck: false, autofocus: true, class: "code-field"}];

async function go(v) {
  await post("/api/v1/enrol", {code: v.code.trim()}, {stay: true});
  location.assign("/station");
}

start("enrol.title", () => html`<h1>${say("enrol.title")}</h1><p>${say("enrol.what")}</p><${Form} test="enrol" fields=${fields} act=${say("enrol.do")} go=${go} />`, {anyone: true});
