// Lists of the shop: dropped as a file or typed in a table, looked at, then taken.
import { html, useEffect, useSignal } from "../../lib/vendor/ui.js";
import { get } from "../../lib/api.js";
import { choose, chosen } from "../../lib/filters.js";
import { failed, may, me, note, start } from "../../lib/shell.js";
import { loadShop, theShop } from "../../lib/shop.js";
import { say } from "../../lib/words.js";
import { revised, separated } from "./cells.js";
import { Preview } from "./preview.js";
import { sending, sendList } from "./send.js";
import { Table } from "./table.js";

/**
 * @typedef {import("../../lib/_types.js").Input} Input
 * @typedef {import("../../lib/_types.js").Schema} Schema
 */

const kinds = [
  ["machines", "plan"],
  ["calendars", "plan"],
  ["reasons", "plan"],
  ["people", "accounts"],
  ["routes", "plan"],
  ["batches", "release"],
];
const mine = () => kinds.filter(([, deed]) => may(deed)).map(([k]) => k);
const MOST_ROWS = 300; // in a table; a longer list is a file

/**
 * Kinds is which list is meant.
 * @param {{kind: string}} props
 */
function Kinds({ kind }) {
  return html`<p class="narrow" role="group" aria-label=${say("lists.which")}>
    ${mine().map(
      (k) =>
        html`<button
          key=${k}
          data-test=${"kind-" + k}
          aria-pressed=${k === kind ? "true" : "false"}
          onClick=${() => choose({ kind: k, part: "", route_rev: "" })}>
          ${say("lists.kind." + k)}
        </button>`,
    )}
  </p>`;
}

/** @param {{kind: string, query: Record<string, string>}} props */
function Templates({ kind, query }) {
  const link = (/** @type {string} */ format, /** @type {boolean} */ filled) => {
    const q = new URLSearchParams({ ...query, format, ...(filled && { filled: "1" }) });
    return html`<a
      class="button"
      data-test=${`template-${format}${filled ? "-filled" : ""}`}
      href=${`/api/v1/lists/${kind}/template?${q}`}>
      ${say(filled ? "lists.filled" : "lists.template", format.toUpperCase())}
    </a>`;
  };
  const filled = kind !== "batches" && (kind !== "routes" || query.part);
  return html`<p class="deeds">
    ${link("csv", false)} ${link("xlsx", false)} ${filled && link("csv", true)}${" "}
    ${filled && link("xlsx", true)}
  </p>`;
}

/**
 * FileDrop takes a file, dropped or chosen.
 * @param {{look: (file: Blob, name: string) => void}} props
 */
function FileDrop({ look }) {
  const over = useSignal(false);
  const take = (/** @type {File | undefined} */ file) => file && look(file, file.name);
  return html`<label
    class=${over.value ? "drop over" : "drop"}
    data-test="drop"
    onDragOver=${(/** @type {DragEvent} */ e) => {
      e.preventDefault();
      over.value = true;
    }}
    onDragLeave=${() => {
      over.value = false;
    }}
    onDrop=${(/** @type {DragEvent} */ e) => {
      e.preventDefault();
      over.value = false;
      take(e.dataTransfer?.files[0]);
    }}>
    ${say("lists.drop")}
    <input
      type="file"
      data-test="file"
      accept=".csv,.txt,.tsv,.xlsx,.jsonl,text/csv"
      onChange=${(/** @type {Input} */ e) => {
        take(e.target.files?.[0]);
        e.target.value = "";
      }}
    />
  </label>`;
}

/**
 * RouteChoice says which route stands in the table, and under which revision it goes on.
 * @param {{by: Record<string, string>, copy: (part: string, rev: string) => void}} props
 */
function RouteChoice({ by, copy }) {
  const part = useSignal(""),
    rev = useSignal("");
  const parts = [...new Set(theShop().parts.map((p) => p.part))],
    revs = theShop().parts.filter((p) => p.part === by.part);
  /** @type {(s: import("../../lib/vendor/ui.js").Signal<string>, key: string) => unknown} */
  const field = (s, key) =>
    html`<label>
      ${say("lists." + key)}
      <input
        data-test=${"copy-" + key}
        value=${s.value}
        maxlength="120"
        onInput=${(/** @type {Input} */ e) => {
          s.value = e.target.value;
        }}
      />
    </label>`;
  return html`<div class="tools">
    <label>
      ${say("lists.part")}
      <select
        data-test="route-part"
        onChange=${(/** @type {Input} */ e) => choose({ part: e.target.value, route_rev: "" })}>
        <option value="" selected=${!by.part}>${say("lists.part.new")}</option>
        ${parts.map((p) => html`<option key=${p} value=${p} selected=${p === by.part}>${p}</option>`)}
      </select>
    </label>
    ${by.part &&
    html`
      <label>
        ${say("lists.rev")}
        <select
          data-test="route-rev"
          onChange=${(/** @type {Input} */ e) => choose({ route_rev: e.target.value })}>
          <option value="" selected=${!by.route_rev}>${say("lists.rev.all")}</option>
          ${revs.map(
            (r) =>
              html`<option key=${r.route_rev} value=${r.route_rev} selected=${r.route_rev === by.route_rev}>
                ${r.route_rev}
              </option>`,
          )}
        </select>
      </label>
      ${by.route_rev &&
      html`
        ${field(part, "as-part")} ${field(rev, "as-rev")}
        <button
          data-test="copy"
          disabled=${!rev.value.trim() && !part.value.trim()}
          onClick=${() => copy(part.value.trim(), rev.value.trim())}>
          ${say("lists.copy")}
        </button>
      `}
    `}
  </div>`;
}

/**
 * useList looks at a list and takes it: what it comes to, and what was sent.
 * @param {string} kind
 */
function useList(kind) {
  const seen = useSignal(/** @type {Schema["LookedAt"] | null} */ (null)),
    last = useSignal(/** @type {{file: Blob, name: string} | null} */ (null)),
    headers = useSignal(/** @type {Record<string, string>} */ ({}));
  const send = async (/** @type {Record<string, string>} */ more) => {
    if (!last.value) return;
    const { file, name } = last.value;
    /** @type {Record<string, string>} */
    const query = { file: name.slice(0, 120), ...more };
    if (Object.keys(headers.value).length) query.headers = JSON.stringify(headers.value);
    try {
      seen.value = await sendList(kind, file, query);
      if (seen.value.taken) {
        note("good", say("lists.taken"));
        await loadShop();
      }
    } catch (err) {
      failed(err);
    }
  };
  return {
    seen: seen.value,
    look: (/** @type {Blob} */ file, /** @type {string} */ name) => {
      last.value = { file, name };
      headers.value = {};
      send({});
    },
    match: (/** @type {string} */ head, /** @type {string} */ column) => {
      headers.value = { ...headers.value, [head]: column };
      send({});
    },
    take: () => send({ take: "1" }),
    drop: () => {
      seen.value = null;
    },
  };
}

/** @param {{kind: string, by: Record<string, string>}} props */
function List({ kind, by }) {
  const list = useList(kind),
    table = useSignal(/** @type {Schema["ListTable"] | null} */ (null)),
    rows = useSignal(/** @type {string[][]} */ ([]));
  /** @type {Record<string, string>} */
  const query =
    kind === "routes" && by.part ? { part: by.part, ...(by.route_rev && { route_rev: by.route_rev }) } : {};
  const address = /** @type {const} */ (`/api/v1/lists/${kind}?${new URLSearchParams(query)}`);
  useEffect(() => {
    list.drop();
    get(address)
      .then((t) => {
        const width = t.columns.map(() => "");
        table.value = t;
        rows.value = t.rows.length ? t.rows : [width, width, width];
      })
      .catch(failed);
  }, [address]);
  const head = table.value?.columns.map((c) => c.name) ?? [];
  const check = () => list.look(new Blob([separated(head, rows.value)]), say("lists.typed"));
  const copy = (/** @type {string} */ part, /** @type {string} */ rev) => {
    rows.value = revised(head, rows.value, part, rev);
  };
  return html`
    <h2>${say("lists.file")}</h2>
    <${FileDrop} look=${list.look} />
    <${Templates} kind=${kind} query=${query} />
    ${sending.value !== null &&
    html`<p role="status" data-test="sending">
      ${say(sending.value < 1 ? "lists.sending" : "lists.reading")}${" "}
      <progress value=${sending.value < 1 ? sending.value : undefined} max="1" />
    </p>`}
    ${list.seen &&
    html`<${Preview} v=${list.seen} match=${list.match} take=${list.take} busy=${sending.value !== null} />`}
    <h2>${say("lists.table")}</h2>
    ${kind === "routes" && html`<${RouteChoice} by=${by} copy=${copy} />`}
    ${kind === "reasons" && html`<p class="soft">${say("lists.reasons.how")}</p>`}
    ${table.value &&
    rows.value.length > MOST_ROWS &&
    html`<p class="empty">${say("lists.long", MOST_ROWS)}</p>`}
    ${table.value &&
    rows.value.length <= MOST_ROWS &&
    html`
      <${Table}
        columns=${table.value.columns}
        rows=${rows.value}
        set=${(/** @type {string[][]} */ r) => {
          rows.value = r;
        }}
      />
      <p class="deeds">
        <button class="act" data-test="check" disabled=${sending.value !== null} onClick=${check}>
          ${say("lists.check")}
        </button>
      </p>
    `}
  `;
}

function ListsPage() {
  const by = chosen.value;
  useEffect(() => {
    loadShop().catch(failed);
  }, []);
  const kind = mine().includes(by.kind) ? by.kind : mine()[0];
  return html`
    <h1>${say("lists.title")}</h1>
    <p class="soft">${say("lists.how")}</p>
    <${Kinds} kind=${kind} />
    <${List} key=${kind} kind=${kind} by=${by} />
  `;
}

start(() => (me.value ? html`<${ListsPage} />` : null));
