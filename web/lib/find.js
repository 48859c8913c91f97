// One field on every page that finds a card, works order, part, customer, lot, person
// or machine, and goes there.
import { html, useEffect, useRef, useSignal } from "./vendor/ui.js";
import { get } from "./api.js";
import { known, say } from "./words.js";

/** @typedef {import("./_types.js").Schema["Find"]} Found */

const PAUSE_MS = 120; // after the last key, before the server is asked

/** @param {string} q */
const ask = (q) => get(`/api/v1/find?q=${encodeURIComponent(q)}`);

/** @param {{failed: (err: unknown) => void}} props */
export function Find({ failed }) {
  const text = useSignal(""),
    found = useSignal(/** @type {Found | null} */ (null)),
    field = useRef(/** @type {HTMLInputElement | null} */ (null)),
    box = useRef(/** @type {HTMLElement | null} */ (null));
  const close = () => {
    found.value = null;
  };
  useEffect(() => {
    const slash = (/** @type {KeyboardEvent} */ e) => {
      const at = /** @type {HTMLElement} */ (e.target);
      if (e.key !== "/" || e.ctrlKey || e.metaKey || at.closest("input, select, textarea, dialog")) return;
      e.preventDefault();
      field.current?.focus();
    };
    const away = (/** @type {Event} */ e) => {
      if (!box.current?.contains(/** @type {Node} */ (e.target))) close();
    };
    addEventListener("keydown", slash);
    addEventListener("pointerdown", away);
    return () => {
      removeEventListener("keydown", slash);
      removeEventListener("pointerdown", away);
    };
  }, []);
  useEffect(() => {
    const q = text.value.trim();
    if (!q) return close();
    const t = setTimeout(async () => {
      try {
        const f = await ask(q);
        if (text.value.trim() === q) found.value = f;
      } catch {
        // Enter asks again, and says what is wrong.
      }
    }, PAUSE_MS);
    return () => clearTimeout(t);
  }, [text.value]);
  const go = async (/** @type {Event} */ e) => {
    e.preventDefault();
    const q = text.value.trim();
    if (!q) return;
    try {
      const f = await ask(q);
      found.value = f;
      if (f.go) location.assign(f.go);
    } catch (err) {
      failed(err);
    }
  };
  return html`<form class="finder" role="search" data-test="finder" ref=${box} onSubmit=${go}>
    <input
      ref=${field}
      type="search"
      data-test="find"
      aria-label=${say("find.label")}
      placeholder=${say("find.label")}
      title=${say("find.hint")}
      maxlength="120"
      autocomplete="off"
      spellcheck="false"
      value=${text.value}
      onInput=${(/** @type {import("./_types.js").Input} */ e) => {
        text.value = e.target.value;
      }}
      onKeyDown=${(/** @type {KeyboardEvent} */ e) => {
        if (e.key === "Escape") close();
      }}
    />
    ${found.value && html`<${Hits} found=${found.value} />`}
  </form>`;
}

/** @param {{found: Found}} props */
function Hits({ found }) {
  return html`<div class="found" data-test="found" data-q=${found.q}>
    ${found.hits.length === 0 && html`<p class="soft">${say("find.none", found.q)}</p>`}
    <ul>
      ${found.hits.map(
        (h) =>
          html`<li key=${h.kind + h.text + h.page}>
            <a href=${h.page} data-test="hit" data-kind=${h.kind}>
              <small>${known("find." + h.kind, h.kind)}</small> <b>${h.text}</b> <span>${h.more || ""}</span>
            </a>
          </li>`,
      )}
    </ul>
    ${found.more && html`<p class="soft">${say("find.more")}</p>`}
    ${found.partial && html`<p class="soft">${say("find.partial")}</p>`}
  </div>`;
}
