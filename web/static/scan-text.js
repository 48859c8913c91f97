// A scan in words: what was said, with its numbers.
import {known, say} from "/static/words.js";
import {reasonText} from "/static/shop.js";
import {moment} from "/static/times.js";

const losses = ["scrap", "rework", "review"];

// countsText says the pieces that a scan counts.
export function countsText(s) {
  const out = [];
  if (s.good !== undefined && s.good !== null) out.push(say("count.good", s.good));
  for (const kind of losses) {
    for (const l of s[kind] || []) {
      const why = [reasonText(l.reason, kind), l.caused_at && say("caused.at", l.caused_at)].filter(Boolean).join(", ");
      out.push(say("count." + kind, l.n) + (why ? ` (${why})` : ""));
    }
  }
  if (s.missing) out.push(say("count.missing", s.missing));
  if (s.pieces) out.push(say("count.pieces", s.pieces));
  if (s.reads !== undefined && s.reads !== null) out.push(say("count.reads", s.reads));
  return out.join(", ");
}

// scanText says the whole scan.
export function scanText(s) {
  const reason = s.action === "decide" && s.for ? known("choice." + s.reason, s.reason) : reasonText(s.reason, "stop", "wait", "anyway");
  return [
    known("action." + s.action, s.action), s.operation && say("operation.of", s.operation), s.phase === "setup" && say("phase.setup"), countsText(s),
    reason, s.to && say("scan.to", s.to), s.happened && say("scan.happened", moment(s.happened)), s.anyway && say("scan.anyway"), s.note && `“${s.note}”`,
  ].filter(Boolean).join(", ");
}
