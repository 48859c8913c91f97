// Forms and dialogs, a field for a time of day, and an answer of the server that
// follows what is chosen.
import { html, signal, useEffect, useRef, useSignal, useState } from "./vendor/ui.js";
import { get, post } from "./api.js";
import { say } from "./words.js";

/** @typedef {import("./_types.js").Input} Input */

/**
 * Field is one of a form; what else it has goes to its input.
 * @typedef {{name: string, label: string, value?: string, options?: [string, string][], hint?: string} &
 *   Record<string, any>} Field
 */

/**
 * Form asks for fields [{name, label, ...attributes of the input}] and gives
 * their values to go, which may throw a Problem.
 * @param {{
 *   fields: Field[], act?: string, go: (values: Record<string, string>) => unknown, test: string,
 *   clear?: boolean
 * }} props
 */
export function Form({ fields, act, go, test, clear }) {
  const values = useSignal(
    Object.fromEntries(fields.map((f) => [f.name, f.value || (f.options ? f.options[0][0] : "")])),
  );
  const problem = useSignal(/** @type {{field?: string, message?: string}} */ ({})),
    busy = useSignal(false);
  const set = (/** @type {string} */ name) => (/** @type {Input} */ e) => {
    values.value = { ...values.value, [name]: e.target.value };
  };
  const submit = async (/** @type {Event} */ e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    problem.value = {};
    try {
      await go(values.value);
      if (clear)
        values.value = Object.fromEntries(fields.map((f) => [f.name, f.options ? values.value[f.name] : ""]));
    } catch (err) {
      problem.value = /** @type {Error} */ (err);
    } finally {
      busy.value = false;
    }
  };
  return html`<form class="small-form" data-test=${test} onSubmit=${submit}>
    ${fields.map(
      ({ name, label, options, hint, ...more }) => html`<label key=${name}>
        ${label}
        ${options
          ? html`<select data-test=${`${test}-${name}`} onChange=${set(name)}>
              ${options.map(
                ([v, text]) =>
                  html`<option key=${v} value=${v} selected=${v === values.value[name]}>${text}</option>`,
              )}
            </select>`
          : html`<input
              data-test=${`${test}-${name}`}
              name=${name}
              ...${more}
              value=${values.value[name]}
              onInput=${set(name)}
              aria-invalid=${problem.value.field === name ? "true" : undefined}
            />`}
        ${hint && html`<small class="soft">${hint}</small>`}
      </label>`,
    )}
    ${problem.value.message &&
    html`<p class="problem" role="alert" data-test="problem">${problem.value.message}</p>`}
    <p class="deeds">
      <button class="act" type="submit" disabled=${busy.value} data-test=${test + "-go"}>
        ${act || say("go")}
      </button>
    </p>
  </form>`;
}

// A dialog with a form: what is asked, one button that does it, one that leaves.
// go gets a function that shows what went wrong, inside the dialog.

/**
 * @param {{
 *   title: string, act: string, go: (bad: (text: string) => void) => unknown, close: () => void,
 *   children?: unknown
 * }} props
 */
export function Dialog({ title, act, go, close, children }) {
  const ref = useRef(/** @type {HTMLDialogElement | null} */ (null));
  const [busy, setBusy] = useState(false),
    [problem, setProblem] = useState("");
  useEffect(() => {
    const back = /** @type {HTMLElement | null} */ (document.activeElement);
    if (ref.current && !ref.current.open) ref.current.showModal();
    return () => back?.focus?.();
  }, []);
  const submit = async (/** @type {Event} */ e) => {
    e.preventDefault();
    if (busy) return;
    setBusy(true);
    setProblem("");
    try {
      await go(setProblem);
    } finally {
      setBusy(false);
    }
  };
  return html`<dialog
    ref=${ref}
    data-test="dialog"
    onCancel=${(/** @type {Input} */ e) => {
      e.preventDefault();
      close();
    }}>
    <form onSubmit=${submit}>
      <h2>${title}</h2>
      ${children}
      ${problem && html`<p class="problem" role="alert" data-test="problem">${problem}</p>`}
      <p class="deeds">
        <button class="act" type="submit" disabled=${busy} data-test="dialog-go">${act}</button>
        <button type="button" data-test="dialog-close" onClick=${close}>${say("leave")}</button>
      </p>
    </form>
  </dialog>`;
}

// A time of day to be typed, on the 24-hour clock whatever the browser's own
// way of writing is: 6, 630 and 6:30 are understood.

/**
 * tidy reads what was typed; what is no time stays as it is, to be complained of.
 * @param {string} text
 */
function tidy(text) {
  const m = /^(\d{1,2})(?:[:.]?(\d{2}))?$/.exec(text.trim());
  return m ? `${m[1].padStart(2, "0")}:${m[2] || "00"}` : text.trim();
}

/** @param {{value: string, set: (time: string) => void}} props */
export function TimeInput({ value, set, ...more }) {
  return html`<input
    class="time"
    type="text"
    inputmode="numeric"
    maxlength="5"
    placeholder="06:00"
    autocomplete="off"
    value=${value}
    ...${more}
    onInput=${(/** @type {Input} */ e) => {
      if (/^\d\d:\d\d$/.test(e.target.value)) set(e.target.value);
    }}
    onChange=${(/** @type {Input} */ e) => set(tidy(e.target.value))}
  />`;
}

/**
 * Find is the field over a list that is searched as someone types.
 * @param {{label: string, text: {value: string}, test: string, autofocus?: boolean}} props
 */
export const Find = ({ label, text, test, autofocus }) =>
  html`<label class="find">
    ${label}
    <input
      type="search"
      data-test=${test}
      value=${text.value}
      autofocus=${autofocus}
      onInput=${(/** @type {Input} */ e) => {
        text.value = e.target.value;
      }}
    />
  </label>`;

// An answer of the server that follows what is chosen: asked for again when the
// address of it changes, and kept on the page until the next is there.

/**
 * Work is what a page is working out: old says that the figures shown are those of
 * the choice before, left that someone stopped it.
 * @typedef {{old: boolean, left: boolean, stop: () => void, again: () => void}} Work
 */

const work = signal(/** @type {Work | null} */ (null));

/**
 * beginWork says that something is being worked out, until it is done or dropped;
 * whoever looks can stop it, and ask again.
 * @param {boolean} old whether the figures on the page are those of another choice
 * @param {() => void} again
 */
export function beginWork(old, again) {
  const until = new AbortController();
  let shown = /** @type {Work | null} */ (null);
  const show = (/** @type {Work | null} */ w) => {
    if (work.value === shown || w) work.value = w;
    shown = w;
  };
  const stop = () => {
    until.abort();
    show({ old, left: true, stop, again });
  };
  show({ old, left: false, stop, again });
  const drop = () => {
    until.abort();
    show(null);
  };
  return { until: until.signal, done: () => show(null), drop };
}

/**
 * useAnswer gives {value, problem, of}; a path of nothing asks for nothing. A body is
 * posted, and of is the one that the value answers. What was asked before and is not
 * wanted any more is stopped.
 * @template {string} P
 * @template [B=undefined]
 * @param {P | null | undefined | false} path
 * @param {B} [body]
 */
export function useAnswer(path, body) {
  /** @typedef {import("./_types.js").Answer<P, B extends undefined ? "get" : "post">} Answered */
  const value = useSignal(/** @type {Answered | null} */ (null)),
    of = useSignal(/** @type {B | undefined} */ (undefined)),
    problem = useSignal(""),
    tries = useSignal(0);
  const sent = body === undefined ? "" : JSON.stringify(body);
  useEffect(() => {
    if (!path) return undefined;
    const w = beginWork(value.value !== null, () => tries.value++);
    const asked = sent ? post(path, body, { until: w.until }) : get(path, { until: w.until });
    /** @type {Promise<unknown>} */ (asked)
      .then((v) => {
        if (w.until.aborted) return;
        value.value = /** @type {Answered} */ (v);
        of.value = body;
        problem.value = "";
        w.done();
      })
      .catch((err) => {
        if (w.until.aborted) return;
        problem.value = err.message;
        w.done();
      });
    return w.drop;
  }, [path, sent, tries.value]);
  return { value: value.value, problem: problem.value, of: of.value };
}

const LONG_MS = 300; // work that takes longer says that it goes on

/**
 * Working dims figures that are not of what is chosen now, at once, and says of
 * long work that it goes on, with a way to leave it.
 */
export function Working() {
  const w = work.value,
    long = useSignal(false);
  useEffect(() => {
    long.value = false;
    document.getElementById("main")?.classList.toggle("outdated", Boolean(w?.old));
    if (!w) return undefined;
    const t = setTimeout(() => {
      long.value = true;
    }, LONG_MS);
    return () => clearTimeout(t);
  }, [w]);
  if (!w || !(w.left || long.value)) return null;
  return html`<p class="working" role="status" data-test="working">
    ${say(w.left ? "working.left" : w.old ? "working.old" : "working")}
    <button data-test=${w.left ? "working-again" : "working-leave"} onClick=${w.left ? w.again : w.stop}>
      ${say(w.left ? "working.again" : "working.leave")}
    </button>
  </p>`;
}

/**
 * Answered shows what it has, or why it has nothing.
 * @param {{answer: {value: unknown, problem: string}, children?: unknown}} props
 */
export const Answered = ({ answer, children }) => html`
  ${answer.problem && html`<p class="problem" data-test="failed">${answer.problem}</p>`}
  ${answer.value ? children : !answer.problem && html`<p class="soft">${say("loading")}</p>`}
`;
