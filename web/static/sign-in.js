// Signing in, by name and password.
import {html} from "/static/vendor/ui.js";
import {start} from "/static/shell.js";
import {post, safeNext} from "/static/api.js";
import {say} from "/static/words.js";
import {Form} from "/static/form.js";

const fields = [
  {name: "name", label: say("account.name"), autocomplete: "username", required: true, maxlength: 60, autofocus: true},
  {name: "password", label: say("account.password"), type: "password", autocomplete: "current-password", required: true, maxlength: 200},
];

async function go(v) {
  await post("/api/v1/sign-in", {name: v.name, password: v.password}, {stay: true});
  location.assign(safeNext(new URLSearchParams(location.search).get("next")));
}

start("sign-in.title", () => html`<h1>${say("sign-in.title")}</h1><${Form} test="sign-in" fields=${fields} act=${say("sign-in.do")} go=${go} />
  <p class="soft">${say("sign-in.station")} <a href="/enrol">${say("sign-in.enrol")}</a></p>`, {anyone: true});
