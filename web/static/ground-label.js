// What the label of a place says, from its short name alone to all of it.
import {say, count} from "/static/words.js";
import {now} from "/static/clock.js";
import {shortSpan} from "/static/times.js";
import {openAt} from "/static/hours.js";
import {textWidth} from "/static/ground-labels.js";

const px = 14, line = 18, base = 14;

const gone = (t) => shortSpan(now() - Date.parse(t));

function doing(p) {
  if (p.state === "free") return openAt(p.work_centre, now()).open ? "" : say("ground.closed");
  const more = p.works > 1 ? " " + say("ground.more", p.works - 1) : "";
  return `${say("state." + p.state)} ${p.works_order || p.card}, ${gone(p.since)}${more}`;
}

const briefly = (p) => (p.state === "free" ? doing(p) : `${say("state." + p.state)} ${gone(p.since)}`);

function lying(p) {
  if (p.waits === 0) return [];
  const late = p.late > 0 ? ", " + count("waits.late", p.late) : "", held = p.held > 0 ? ", " + count("waits.held", p.held) : "";
  return [{text: `${count("ground.wait", p.waits)}, ${say("ground.oldest", gone(p.oldest))}${late}${held}`, warn: Boolean(late || held)}];
}

// labelOf gives the lines of a label: level 0 is the short name, 1 with how many
// wait in a box, 2 what goes on in few words, 3 everything.
export function labelOf(p, level) {
  const name = {text: p.machine, bold: true};
  if (level === 0) return [name];
  if (level === 1) return p.waits ? [{...name, chip: String(p.waits)}] : [name];
  const d = level === 2 ? briefly(p) : doing(p);
  if (level === 2) return [{...name, chip: p.waits ? String(p.waits) : ""}, ...(d ? [{text: d, warn: p.state === "stopped"}] : [])];
  return [name, ...(d ? [{text: d, warn: p.state === "stopped"}] : []), ...lying(p)];
}

// chipWidth is the room of a number in its box beside the name.
export const chipWidth = (text) => Math.ceil(textWidth(text, px, true)) + 8;
export const nameWidth = (l) => Math.ceil(textWidth(l.text, px, l.bold)) + 2;
const widthOf = (l) => nameWidth(l) + (l.chip ? chipWidth(l.chip) + 4 : 0);
const sizeOf = (lines) => ({w: Math.max(...lines.map(widthOf)), h: lines.length * line});

export const labelText = {
  line, base,
  sizes: (p) => [0, 1, 2, 3].map((l) => sizeOf(labelOf(p, l))),
  // spoken is all of it in one sentence, for those who do not see the map and for
  // places whose label has no room.
  spoken: (p) => [`${p.machine}${p.name ? " " + p.name : ""}`, doing(p) || say("machine.free"), ...lying(p).map((l) => l.text)].join(". "),
};
