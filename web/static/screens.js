// Wall screens: hang one up by a link that brings its board back as it was made,
// see them, take them off.
import {html, useSignal} from "/static/vendor/ui.js";
import {failed, note} from "/static/shell.js";
import {del, post} from "/static/api.js";
import {say} from "/static/words.js";
import {At} from "/static/marks.js";
import {WallFields} from "/static/wall-settings.js";
import {boards, defaults} from "/static/wall-size.js";

const themeText = (x) => (x.theme === "clock" ? say("theme.clock.shown", x.dark, x.light) : say("theme." + x.theme));

export function Screen({after}) {
  const name = useSignal(""), board = useSignal(boards[0]), s = useSignal(defaults), given = useSignal(""), problem = useSignal({}), busy = useSignal(false);
  const go = async (e) => {
    e.preventDefault();
    if (busy.value) return;
    busy.value = true;
    problem.value = {};
    const {dark, light, ...rest} = s.value;
    try {
      given.value = (await post("/api/v1/screens", {name: name.value.trim(), board: board.value, ...rest, ...(rest.theme === "clock" ? {dark, light} : {})})).link;
      name.value = "";
      after();
    } catch (err) { problem.value = err; } finally { busy.value = false; }
  };
  const copy = () => navigator.clipboard.writeText(given.value).then(() => note("good", say("copied")), () => note("bad", say("copy.by-hand")));
  return html`<h2>${say("screens.give")}</h2><p class="soft">${say("screens.what")}</p>
    <form class="small-form" data-test="screen" onSubmit=${go}>
      <label>${say("stations.name")}<input data-test="screen-name" required maxlength="60" autocomplete="off" value=${name.value} onInput=${(e) => { name.value = e.target.value; }} aria-invalid=${problem.value.field === "name" ? "true" : undefined} /></label>
      <label>${say("screens.board")}<select data-test="screen-board" onChange=${(e) => { board.value = e.target.value; }}>${boards.map((b) => html`<option key=${b} value=${b} selected=${b === board.value}>${say("board." + b)}</option>`)}</select></label>
      <${WallFields} s=${s.value} set=${(k, v) => { s.value = {...s.value, [k]: v}; }} />
      ${problem.value.message && html`<p class="problem" role="alert" data-test="problem">${problem.value.message}</p>`}
      <p class="deeds"><button class="act" type="submit" disabled=${busy.value} data-test="screen-go">${say("screens.do")}</button></p></form>
    ${given.value && html`<div class="given" role="status"><p>${say("screens.once")}</p><p class="link" data-test="screen-link">${given.value}</p>${navigator.clipboard && html`<button onClick=${copy}>${say("copy")}</button>`}</div>`}`;
}

export function ScreenList({list, after}) {
  const remove = (x) => del(`/api/v1/screens/${encodeURIComponent(x.id)}`).then(() => { note("good", say("removed", x.name)); after(); }).catch(failed);
  if (list.length === 0) return html`<p class="empty">${say("screens.none")}</p>`;
  return html`<table class="stack"><thead><tr><th scope="col">${say("stations.name")}</th><th scope="col">${say("screens.board")}</th><th scope="col">${say("head.since")}</th><th></th></tr></thead>
    <tbody>${list.map((x) => html`<tr key=${x.id} data-test="screens-row" data-name=${x.name}><td data-label=${say("stations.name")}><b>${x.name}</b></td>
      <td data-label=${say("screens.board")}>${say("screens.shows", say("board." + x.board), x.m, x.in, themeText(x))}</td>
      <td data-label=${say("head.since")}><${At} t=${x.made} /> ${x.by && html`<small>${say("by", x.by)}</small>`}</td><td><button data-test="remove" onClick=${() => remove(x)}>${say("stations.remove")}</button></td></tr>`)}</tbody></table>`;
}
