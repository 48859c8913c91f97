// All batches, with a search, and the form that releases one.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {failed, may, me, start} from "/static/shell.js";
import {get} from "/static/api.js";
import {loadShop} from "/static/shop.js";
import {say} from "/static/words.js";
import {tick} from "/static/clock.js";
import {dayOf} from "/static/times.js";
import {At, BatchLink, Due, Mark, Part} from "/static/marks.js";
import {Release} from "/static/release.js";

const heads = ["batch", "part", "pieces", "good", "due", "state", "customer", "released"];

function State({row}) {
  const word = say("state." + row.state);
  if (row.state === "held") return html`<${Mark} kind="held">${word}<//>`;
  if (row.state === "stopped") return html`<${Mark} kind="stop">${word}<//>`;
  return html`${word}${row.next_operation ? html` <small>${say("operation.of", row.next_operation)}</small>` : ""}`;
}

function Row({row, today}) {
  const over = ["done", "cancelled"].includes(row.state);
  const cell = (name, content) => html`<td class=${name} data-label=${say("head." + name)}>${content}</td>`;
  return html`<tr data-test="batch-row" data-card=${row.card} data-state=${row.state}>
    ${cell("batch", html`<${BatchLink} row=${row} />`)}${cell("part", html`<${Part} row=${row} />`)}${cell("pieces", row.started)}
    ${cell("good", say("good.wanted", row.good, row.wanted))}${cell("due", html`<${Due} due=${row.due} today=${today} late=${!over && row.due && row.due < today} />`)}
    ${cell("state", html`<${State} row=${row} />`)}${cell("customer", row.customer || "")}${cell("released", html`<${At} t=${row.released} />`)}</tr>`;
}

function BatchesPage() {
  const text = useSignal(new URLSearchParams(location.search).get("q") || ""), state = useSignal("open"), found = useSignal(null);
  const load = () => {
    const asked = text.value, of = state.value;
    get(`/api/v1/batches?q=${encodeURIComponent(asked)}&state=${of}`).then((a) => {
      if (asked === text.value && of === state.value) found.value = a;
    }).catch(failed);
  };
  useEffect(() => { loadShop().catch(failed); }, []);
  useEffect(() => {
    const t = setTimeout(load, 200);
    return () => clearTimeout(t);
  }, [text.value, state.value]);
  useEffect(() => {
    const t = setInterval(load, 10000);
    return () => clearInterval(t);
  }, []);
  const today = dayOf(tick.value);
  return html`<h1>${say("batches.title")}</h1>${may("release") && html`<${Release} after=${load} />`}
    <div class="tools"><label class="find">${say("batches.find")}<input type="search" data-test="search" value=${text.value} onInput=${(e) => { text.value = e.target.value; }} /></label>
      <label>${say("batches.which")}<select data-test="which" onChange=${(e) => { state.value = e.target.value; }}><option value="open">${say("batches.open")}</option><option value="all">${say("batches.all")}</option></select></label></div>
    ${!found.value ? html`<p class="soft">${say("loading")}</p>` : found.value.batches.length === 0 ? html`<p class="empty">${say(text.value ? "waits.nothing-found" : "batches.none")}</p>` : html`
      <table class="batches stack"><thead><tr>${heads.map((h) => html`<th key=${h} class=${h} scope="col">${say("head." + h)}</th>`)}</tr></thead>
      <tbody>${found.value.batches.map((r) => html`<${Row} key=${r.card} row=${r} today=${today} />`)}</tbody></table>
      ${found.value.more && html`<p class="soft">${say("batches.more", found.value.batches.length)}</p>`}`}`;
}

start("batches.title", () => (me.value ? html`<${BatchesPage} />` : null));
