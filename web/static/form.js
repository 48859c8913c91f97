// A small form page: fields, one button, and the sentence that says what is
// wrong.
import {html, useSignal} from "/static/vendor/ui.js";
import {say} from "/static/words.js";

// Form asks for fields [{name, label, ...attributes of the input}] and gives
// their values to go, which may throw a Problem.
export function Form({fields, act, go, test, clear}) {
  const values = useSignal(Object.fromEntries(fields.map((f) => [f.name, f.value || (f.options ? f.options[0][0] : "")])));
  const problem = useSignal({}), busy = useSignal(false);
  const set = (name) => (e) => { values.value = {...values.value, [name]: e.target.value}; };
  const submit = async (e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    problem.value = {};
    try {
      await go(values.value);
      if (clear) values.value = Object.fromEntries(fields.map((f) => [f.name, f.options ? values.value[f.name] : ""]));
    } catch (err) { problem.value = err; } finally { busy.value = false; }
  };
  return html`<form class="small-form" data-test=${test} onSubmit=${submit}>${fields.map(({name, label, options, hint, ...more}) => html`<label key=${name}>${label}
      ${options ? html`<select data-test=${`${test}-${name}`} onChange=${set(name)}>${options.map(([v, text]) => html`<option key=${v} value=${v} selected=${v === values.value[name]}>${text}</option>`)}</select>`
    : html`<input data-test=${`${test}-${name}`} name=${name} ...${more} value=${values.value[name]} onInput=${set(name)} aria-invalid=${problem.value.field === name ? "true" : undefined} />`}
      ${hint && html`<small class="soft">${hint}</small>`}</label>`)}
    ${problem.value.message && html`<p class="problem" role="alert" data-test="problem">${problem.value.message}</p>`}
    <p class="deeds"><button class="act" type="submit" disabled=${busy.value} data-test=${test + "-go"}>${act || say("go")}</button></p></form>`;
}
