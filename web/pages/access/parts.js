// What the pages of accounts, stations and the first account share.
import { html } from "../../lib/vendor/ui.js";
import { del } from "../../lib/api.js";
import { failed, note } from "../../lib/shell.js";
import { say } from "../../lib/words.js";

/**
 * remove takes something away, says so, and then goes on with after.
 * @param {string} path
 * @param {string} name
 * @param {() => void} after
 */
export async function remove(path, name, after) {
  try {
    await del(path);
    note("good", say("removed", name));
    after();
  } catch (err) {
    failed(err);
  }
}

// newPassword is the field of a password that is chosen here.
export const newPassword = () => ({
  name: "password",
  label: say("account.password"),
  hint: say("account.password.hint"),
  type: "password",
  autocomplete: "new-password",
  required: true,
  minlength: 10,
  maxlength: 200,
});

/**
 * Listed is a table with a row for each thing there is, or the sentence none; heads are the
 * keys of what stands over its columns, before the one of the buttons.
 * @param {{rows: unknown[], heads: string[], none: string}} props
 */
export const Listed = ({ rows, heads, none }) =>
  rows.length === 0
    ? html`<p class="empty">${none}</p>`
    : html`<table class="stack">
        <thead><tr>${heads.map((k) => html`<th key=${k} scope="col">${say(k)}</th>`)}<td></td></tr></thead>
        <tbody>${rows}</tbody>
      </table>`;
