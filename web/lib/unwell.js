// What is wrong with the program itself, on the pages of those who can see to it.
import { html, signal, useEffect } from "./vendor/ui.js";
import { get } from "./api.js";
import { say } from "./words.js";

const AGAIN_MS = 60000;
const wrong = signal(/** @type {import("./_types.js").Schema["Conditions"]["conditions"]} */ ([]));

// The clock has a line of its own (shell.js).
async function look() {
  if (document.hidden) return;
  try {
    wrong.value = (await get("/api/v1/health")).conditions.filter((c) => c.name !== "clock");
  } catch {
    // the page itself says when the server is away
  }
}

/** The worst of it, and the way to the rest. */
export function Unwell() {
  useEffect(() => {
    look();
    const again = setInterval(look, AGAIN_MS);
    return () => clearInterval(again);
  }, []);
  const [worst, ...more] = wrong.value;
  if (!worst || location.pathname === "/health") return null;
  return html`<div class="doubt" role="alert" data-test="unwell" data-condition=${worst.name}>
    <p><b>${worst.says}</b> ${worst.do}</p>
    <a href="/health">${more.length ? say("unwell.more", more.length) : say("unwell.see")}</a>
  </div>`;
}
