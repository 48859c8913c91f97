// The mark of a place: a square with the shape of what goes on there. Grey is
// normal; what stands still or is late has the warning colour, and a shape.
import {html} from "/static/vendor/ui.js";

// Shapes in a box from -8 to 8.
const shapes = {
  running: "M-4-6 7 0-4 6Z",
  setting: "M-6-6H6V-3H-6Z M-6 3H6V6H-6Z",
  firstoff: "M0-7 7 0 0 7-7 0Z M0-3.5-3.5 0 0 3.5 3.5 0Z",
  ready: "M-4-6 7 0-4 6Z M-2-2.8V2.8L3 0Z",
  stopped: "M-6-6H6V6H-6Z",
  outside: "M-6 6V4L2-4H-3V-6H6V3H4V-2L-4 6Z",
  free: "M-3-1H3V1H-3Z",
};

export const states = ["running", "setting", "firstoff", "ready", "stopped", "outside", "free"];
export const markSize = 11; // half of the square, px

export const StateShape = ({state}) => html`<path fill-rule="evenodd" d=${shapes[state] || shapes.free} />`;

// needs is what a person must look at in a place: stopped, late or held; empty is
// nothing.
export function needs(p) {
  if (p.state === "stopped") return "stop";
  if (p.late > 0) return "late";
  return p.held > 0 ? "held" : "";
}

const badges = {late: "M0-6 6 5H-6Z", held: "M-6-6H6V6H-6Z M-4-1.5V1.5H4V-1.5Z"};

// PlaceMark is drawn around 0,0.
export function PlaceMark({p}) {
  const s = markSize, need = needs(p);
  return html`<g class=${"mark-of" + (p.state === "stopped" ? " needs" : "")}><rect x=${-s} y=${-s} width=${2 * s} height=${2 * s} rx="2" /><${StateShape} state=${p.state} />
    ${badges[need] && html`<path class="badge" fill-rule="evenodd" d=${badges[need]} transform=${`translate(${s} ${-s})`} />`}</g>`;
}
