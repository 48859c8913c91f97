// Scans made at a desk: decide, correct, undo, hold, free, cancel.
import {post} from "/static/api.js";
import {now, within} from "/static/clock.js";
import {note} from "/static/shell.js";
import {say} from "/static/words.js";
import {uuid7} from "/static/uuid.js";

const office = "office"; // the station of what is done at a desk

// desk makes a scan of what was decided here and now.
export function desk(action, card, fields = {}) {
  const t = now() - within.value; // never ahead of the server
  return {id: uuid7(t), at: new Date(t).toISOString(), station: office, card, action, present: true, ...fields};
}

// send sends one scan and tells what became of it; true when it was kept.
// undoable offers to take it back. What went wrong goes to bad, or to a note.
export async function send(scan, {done, undoable = true, after, bad = (text) => note("bad", text)} = {}) {
  let r;
  try {
    r = (await post("/api/v1/scans?now=none", {scans: [scan]})).results[0];
  } catch (err) {
    bad(err.message);
    return false;
  }
  const ok = r.outcome === "kept";
  if (ok) note("good", done || r.say, undoable ? {label: say("take-back"), run: () => takeBack(scan, after)} : undefined);
  else bad(say("outcome." + r.outcome, r.say));
  if (after) after();
  return ok;
}

// takeBack undoes a scan.
export const takeBack = (scan, after) =>
  send(desk("undo", scan.card, {for: scan.id}), {done: say("taken-back"), undoable: false, after});
