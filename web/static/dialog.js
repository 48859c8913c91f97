// A dialog with a form: what is asked, one button that does it, one that leaves.
// go gets a function that shows what went wrong, inside the dialog.
import {html, useEffect, useRef, useState} from "/static/vendor/ui.js";
import {say} from "/static/words.js";

export function Dialog({title, act, go, close, children}) {
  const ref = useRef(null);
  const [busy, setBusy] = useState(false), [problem, setProblem] = useState("");
  useEffect(() => {
    const back = document.activeElement;
    if (ref.current && !ref.current.open) ref.current.showModal();
    return () => back?.focus?.();
  }, []);
  const submit = async (e) => {
    e.preventDefault();
    if (busy) return;
    setBusy(true);
    setProblem("");
    try { await go(setProblem); } finally { setBusy(false); }
  };
  return html`<dialog ref=${ref} data-test="dialog" onCancel=${(e) => { e.preventDefault(); close(); }}>
    <form onSubmit=${submit}><h2>${title}</h2>${children}
      ${problem && html`<p class="problem" role="alert" data-test="problem">${problem}</p>`}
      <p class="deeds"><button class="act" type="submit" disabled=${busy} data-test="dialog-go">${act}</button><button type="button" data-test="dialog-close" onClick=${close}>${say("leave")}</button></p></form></dialog>`;
}
