// Small things of the pages of comparing.
import {html} from "/static/vendor/ui.js";
import {failed, note} from "/static/shell.js";
import {say} from "/static/words.js";

// Warn is something that someone should look at.
export const Warn = ({children, test}) => html`<p class="warned" data-test=${test}><svg class="shape" viewBox="0 0 16 16" aria-hidden="true"><path d="M8 1 16 15H0Z" /></svg><span>${children}</span></p>`;

// fetchFile asks for a file and hands it to the browser.
export async function fetchFile(path, body, name, busy) {
  busy.value = name;
  try {
    const r = await fetch(path, {method: "POST", headers: {"Content-Type": "application/json"}, credentials: "same-origin", body: JSON.stringify(body)});
    if (!r.ok) {
      const p = await r.json().catch(() => null);
      throw new Error((p && p.detail) || say("net.odd", r.status));
    }
    const a = document.createElement("a"), url = URL.createObjectURL(await r.blob());
    a.href = url;
    a.download = name;
    a.click();
    setTimeout(() => URL.revokeObjectURL(url), 10000);
    note("good", say("compare.saved", name));
  } catch (err) { failed(err); } finally { busy.value = ""; }
}

// Scroll lets what is wider than the screen be moved within itself.
export const Scroll = ({children}) => html`<div class="scroll" tabindex="0">${children}</div>`;
