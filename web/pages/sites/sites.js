// The sites of a group: what waits at each and in all, what a period came to, and routes of
// one part beside each other. All of it is read from the sites' own records.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { choose, chosen, Filters } from "../../lib/filters.js";
import { Answered, useAnswer } from "../../lib/form.js";
import { Gone, Mark } from "../../lib/marks.js";
import { number } from "../../lib/numbers.js";
import { me, start } from "../../lib/shell.js";
import { count, say } from "../../lib/words.js";
import { Comparison } from "./compare.js";
import { History } from "./history.js";
import { recordText, restsOn } from "./record.js";
import { Waiting } from "./waiting.js";

/**
 * @typedef {import("../../lib/_types.js").Schema} Schema
 * @typedef {Schema["SiteNow"]} SiteNow
 */

const AGAIN_MS = 5000; // how often the sites are looked at

/**
 * usePolled is an answer that is asked for again and again while the page is looked at.
 * @template {string} P
 * @param {P} path
 */
function usePolled(path) {
  const value = useSignal(/** @type {import("../../lib/_types.js").Answer<P, "get"> | null} */ (null)),
    problem = useSignal("");
  useEffect(() => {
    let left = false;
    const look = async () => {
      if (document.hidden) return;
      try {
        const v = await get(path);
        if (left) return;
        value.value = v;
        problem.value = "";
      } catch (err) {
        problem.value = err instanceof Error ? err.message : String(err);
      }
    };
    look();
    const again = setInterval(look, AGAIN_MS);
    document.addEventListener("visibilitychange", look);
    return () => {
      left = true;
      clearInterval(again);
      document.removeEventListener("visibilitychange", look);
    };
  }, [path]);
  return { value: value.value, problem: problem.value };
}

/** @param {number} n */
const late = (n) => (n > 0 ? html`<${Mark} kind="late">${number(n)}<//>` : number(n));

/** @param {{name: string, now: Schema["SiteCounts"], site: SiteNow | null, note?: string}} props */
function NowRow({ name, now, site, note }) {
  const here = site && chosen.value.site === name;
  const open = (/** @type {Event} */ e) => {
    e.preventDefault();
    choose({ site: here ? "" : name });
  };
  return html`<tr data-test="site" data-name=${site ? name : ""}>
    <th scope="row">
      ${site
        ? html`<a
            class="open-op"
            data-test="site-open"
            aria-expanded=${String(Boolean(here))}
            href=${"/sites?site=" + encodeURIComponent(name)}
            onClick=${open}>
            ${name}
          </a>`
        : html`<b>${name}</b>`}
    </th>
    <td class="n" data-test="waits" data-label=${say("sites.waits")}>${number(now.waits)}</td>
    <td class="n" data-test="oldest" data-label=${say("sites.oldest")}>
      ${now.oldest ? html`<${Gone} since=${now.oldest} />` : say("none")}
    </td>
    <td class="n" data-test="late" data-label=${say("sites.late")}>${late(now.late)}</td>
    <td class="n" data-test="works" data-label=${say("sites.works")}>${number(now.works)}</td>
    <td
      class="wide"
      data-test="record"
      data-reached=${site ? String(site.reached) : ""}
      data-label=${say("sites.record")}>
      ${site ? html`${recordText(site)}<small>${count("sites.entries", site.seq)}</small>` : note}
    </td>
  </tr>`;
}

/** @param {{v: Schema["Sites"]}} props */
function Now({ v }) {
  return html`<section data-test="sites-now">
    <h2>${say("sites.now")}</h2>
    ${v.sites
      .filter((s) => s.wrong.length > 0)
      .map(
        (s) => html`<p key=${s.name} class="problem" data-test="site-wrong" data-name=${s.name}>
          ${say("sites.wrong", s.name, s.wrong.join(" "))}
        </p>`,
      )}
    <table class="stack hours sites">
      <thead>
        <tr>
          <th scope="col">${say("sites.site")}</th>
          ${["waits", "oldest", "late", "works"].map(
            (k) => html`<th key=${k} scope="col" class="n">${say("sites." + k)}</th>`,
          )}
          <th scope="col">${say("sites.record")}</th>
        </tr>
      </thead>
      <tbody>
        ${v.sites.map((s) => html`<${NowRow} key=${s.name} name=${s.name} now=${s.now} site=${s} />`)}
        <${NowRow} name=${say("sites.all")} now=${v.all} site=${null} note=${restsOn(v.sites)} />
      </tbody>
    </table>
  </section>`;
}

function Page() {
  const answer = usePolled("/api/v1/sites"),
    site = chosen.value.site;
  const waits = useAnswer(site && `/api/v1/sites/waits?${new URLSearchParams({ site })}`);
  return html`
    <h1>${say("sites.title")}</h1>
    <p class="soft">${say("sites.why")}</p>
    <${Answered} answer=${answer} />
    ${answer.value && html`<${Now} v=${answer.value} />`}
    ${site && html`<${Waiting} site=${site} answer=${waits} />`}
    <h2>${say("sites.history")}</h2>
    <${Filters} parts=${false} texts=${false} />
    <${History} />
    <${Comparison} />
  `;
}

const NotHere = () =>
  html`<h1>${say("sites.title")}</h1><p data-test="not-here">${say("sites.not-here")}</p>`;

start(() => (me.value ? (me.value.sites ? html`<${Page} />` : html`<${NotHere} />`) : null));
