// The choice of a language: kept by the server, with the person or the device.
import { html } from "./vendor/ui.js";
import { post } from "./api.js";
import { language, languages, say } from "./words.js";

/**
 * languageName is what a language is called by those who speak it.
 * @param {string} code
 */
export function languageName(code) {
  const name = new Intl.DisplayNames([code], { type: "language" }).of(code) ?? code;
  return name.charAt(0).toLocaleUpperCase(code) + name.slice(1);
}

/**
 * chooseLanguage keeps a language and shows the page in it. It throws a Problem
 * where the server can't be asked: then the page stays as it is. What must be done
 * before the page is shown again can be given.
 * @param {string} code
 * @param {() => Promise<void>} [before]
 */
export async function chooseLanguage(code, before) {
  await post("/api/v1/language", { language: code }, { stay: true });
  await before?.();
  const here = new URL(location.href);
  // What the address names goes before what is chosen; a page that is kept in the device
  // comes in the other language at once only where the address names it.
  here.searchParams.delete("language");
  if (navigator.serviceWorker?.controller) here.searchParams.set("language", code);
  location.replace(here.href);
}

/**
 * LanguageChoice is the choice on a page of the desk; nothing where there is none.
 * @param {{failed: (err: unknown) => void}} props
 */
export function LanguageChoice({ failed }) {
  if (languages.length < 2) return null;
  const go = (/** @type {{target: HTMLSelectElement}} */ e) => chooseLanguage(e.target.value).catch(failed);
  return html`<select class="languages" data-test="language" aria-label=${say("language")} onChange=${go}>
    ${languages.map(
      (code) =>
        html`<option key=${code} value=${code} lang=${code} selected=${code === language}>
          ${languageName(code)}
        </option>`,
    )}
  </select>`;
}
