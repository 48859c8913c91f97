// Fields for pieces that did not come out good: how many, and why.
import {html} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {shop} from "/static/shop.js";

export function LossFields({kind, list, set}) {
  const reasons = (shop.value ? shop.value.reasons : []).filter((r) => r.kind === kind);
  const change = (i, k, v) => set(list.map((l, j) => (j === i ? {...l, [k]: v} : l)));
  const add = () => set([...list, {reason: reasons.length ? reasons[0].reason : "", n: 1}]);
  return html`<fieldset data-test=${"losses-" + kind}><legend>${say("figure." + kind)}</legend>
    ${list.map((l, i) => html`<p key=${i} class="loss"><label>${say("head.pieces")}<input type="number" min="1" max="10000000" step="1" required data-test=${`correct-${kind}-n`} value=${l.n} onInput=${(e) => change(i, "n", e.target.value)} /></label>
      <label>${say("correct.reason")}<select data-test=${`correct-${kind}-reason`} onChange=${(e) => change(i, "reason", e.target.value)}>
        ${reasons.map((r) => html`<option key=${r.reason} value=${r.reason} selected=${r.reason === l.reason}>${r.text}</option>`)}
        ${!reasons.some((r) => r.reason === l.reason) && html`<option value=${l.reason} selected>${l.reason || say("none")}</option>`}</select></label>
      <button type="button" class="quiet" onClick=${() => set(list.filter((_, j) => j !== i))}>${say("remove")}</button></p>`)}
    <button type="button" class="quiet" data-test=${"add-" + kind} onClick=${add}>${say("add." + kind)}</button></fieldset>`;
}
