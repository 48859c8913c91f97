// The whole story of one batch, kept in step while the page is open.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, may, me, start} from "/static/shell.js";
import {get} from "/static/api.js";
import {openBoard} from "/static/board.js";
import {loadShop} from "/static/shop.js";
import {say} from "/static/words.js";
import {BatchHead} from "/static/batch-head.js";
import {Deeds} from "/static/batch-deeds.js";
import {Operations} from "/static/batch-operations.js";
import {Visits} from "/static/batch-visits.js";
import {Lines} from "/static/batch-lines.js";
import {Asked} from "/static/asked.js";
import {LinkState} from "/static/link-state.js";
import {CorrectDialog} from "/static/correct.js";

const code = decodeURIComponent(location.pathname.slice("/batch/".length));

function Questions({batch, after}) {
  if (batch.questions.length === 0) return null;
  const open = batch.questions.filter((q) => !q.settled), settled = batch.questions.filter((q) => q.settled);
  return html`<section data-test="batch-questions"><h2>${say("batch.questions")}</h2>
    ${[...open, ...settled].map((q) => html`<${Asked} key=${q.question} q=${q} after=${after} />`)}</section>`;
}

// Story is the page once the batch is known.
function Story({story, after}) {
  const correcting = useSignal(null);
  const b = story.batch;
  const visitLines = new Set(b.visits.map((v) => v.visit));
  const rest = story.lines.filter((l) => !visitLines.has(l.visit));
  const deeds = {settle: may("settle"), after, correct: (line) => { correcting.value = line; }};
  return html`<${BatchHead} b=${b} />
    <${Deeds} b=${b} after=${after} />
    <${Questions} batch=${b} after=${after} />
    <${Operations} b=${b} />
    <${Visits} b=${b} lines=${story.lines} deeds=${deeds} />
    <section><h2>${say("batch.other")}</h2><p class="soft">${say("batch.other.why")}</p><${Lines} lines=${rest} deeds=${deeds} /></section>
    ${correcting.value && html`<${CorrectDialog} line=${correcting.value} b=${b} after=${after} close=${() => { correcting.value = null; }} />`}`;
}

function BatchPage() {
  const story = useSignal(null), problem = useSignal("");
  useEffect(() => {
    let soon, last = 0;
    const load = async () => {
      const mine = ++last;
      try {
        const s = await get(`/api/v1/batches/${encodeURIComponent(code)}/story`);
        if (mine !== last) return;
        story.value = s;
        problem.value = "";
        document.title = say("title", s.batch.works_order || s.batch.card);
      } catch (err) {
        if (!story.value) problem.value = err.message;
      }
    };
    reload = () => { clearTimeout(soon); soon = setTimeout(load, 50); };
    const later = () => { clearTimeout(soon); soon = setTimeout(load, 400); };
    const ours = (r) => story.value && (r.card === story.value.batch.card || (story.value.batch.family || []).includes(r.card));
    Promise.all([loadShop(), load()]).catch(failed);
    openBoard({onChange: (set, gone) => { if ([...set, ...gone].some(ours)) later(); }, onReopen: later});
  }, []);
  if (problem.value) return html`<h1>${say("batch.title", code)}</h1><p class="empty" data-test="failed">${problem.value}</p>`;
  if (!story.value) return html`<p class="soft">${say("loading")}</p>`;
  return html`<${LinkState} minutes /><${Story} story=${story.value} after=${() => reload()} />`;
}

let reload = () => {};

start("nav.batches", () => (me.value ? html`<${BatchPage} />` : null));
