// In which language this station speaks: chosen here, kept by the server with it.
import { html, useState } from "../../web/lib/vendor/ui.js";
import { chooseLanguage, languageName } from "../../web/lib/language.js";
import { language, languages, say } from "../../web/lib/words.js";
import { renew } from "./install.js";
import { over } from "./state.js";

export function LanguageView() {
  const [problem, setProblem] = useState("");
  const choose = (/** @type {string} */ code) => async () => {
    try {
      await chooseLanguage(code, renew);
    } catch (err) {
      setProblem(/** @type {Error} */ (err).message);
    }
  };
  return html`<section class="panel" data-test="language-panel">
    <h2>${say("language")}</h2>
    <div class="keys">
      ${languages.map(
        (code) =>
          html`<button
            key=${code}
            class="key step"
            lang=${code}
            data-test=${"language-" + code}
            aria-pressed=${code === language}
            onClick=${choose(code)}>
            ${languageName(code)}
          </button>`,
      )}
    </div>
    ${problem && html`<p role="alert" data-test="problem">${problem}</p>`}
    <button class="key step" data-test="back" onClick=${() => (over.value = "")}>${say("pad.back")}</button>
  </section>`;
}
