// An answer of the server that follows what is chosen: asked for again when the
// address of it changes, and kept on the page until the next is there.
import {html, useEffect, useSignal} from "/static/vendor/ui.js";
import {get} from "/static/api.js";
import {say} from "/static/words.js";

// useAnswer gives {value, problem}; a path of nothing asks for nothing.
export function useAnswer(path) {
  const value = useSignal(null), problem = useSignal("");
  useEffect(() => {
    if (!path) return undefined;
    let mine = true;
    get(path).then((v) => { if (mine) { value.value = v; problem.value = ""; } })
      .catch((err) => { if (mine) problem.value = err.message; });
    return () => { mine = false; };
  }, [path]);
  return {value: value.value, problem: problem.value};
}

// Answered shows what it has, or why it has nothing.
export const Answered = ({answer, children}) => html`${answer.problem && html`<p class="problem" data-test="failed">${answer.problem}</p>`}
  ${answer.value ? children : !answer.problem && html`<p class="soft">${say("loading")}</p>`}`;
