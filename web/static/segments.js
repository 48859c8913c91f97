// A batch's time from its release on, cut into the parts that were scanned or
// told: transport, waiting, set-up, first-off, run, stop, outside.
const ms = (t) => (t ? Date.parse(t) : NaN);

// segments lists {kind, from, to, lane, visit, open, inferred}; times in ms.
// Visits that overlap lie in lanes of their own.
export function segments(batch, t) {
  const start = ms(batch.released), out = [], lanes = [];
  const visits = batch.visits.map((v) => ({v, spans: v.spans.map((s) => ({...s, from: ms(s.from), to: s.to ? ms(s.to) : t}))}))
    .map((x) => ({...x, begun: x.spans.length ? Math.min(...x.spans.map((s) => s.from)) : ms(x.v.finished) || t}))
    .sort((a, b) => a.begun - b.begun);
  for (const {v, spans, begun} of visits) {
    const before = beforeParts(v, begun, start);
    const first = Math.min(begun, ...before.map((s) => s.from));
    const end = Math.max(begun, ms(v.finished) || 0, ...spans.map((s) => s.to));
    let lane = lanes.findIndex((free) => free <= first + 1000);
    if (lane < 0) lane = lanes.push(0) - 1;
    lanes[lane] = end;
    for (const s of [...before, ...spans.map((s) => ({kind: s.kind, from: s.from, to: s.to, reason: s.reason, inferred: s.inferred, open: !v.finished && s.to === t}))]) {
      if (s.to > s.from) out.push({...s, lane, visit: v});
    }
  }
  const last = Math.max(start, ...out.map((s) => s.to));
  const working = batch.visits.some((v) => v.state !== "finished");
  if (!working && !["done", "cancelled"].includes(batch.state) && t > last) out.push({kind: "between", from: last, to: t, lane: 0, open: true});
  return {from: start, to: Math.max(last, out.length ? Math.max(...out.map((s) => s.to)) : t), lanes: Math.max(1, lanes.length), list: out};
}

// beforeParts are the parts of a visit before anything was begun.
function beforeParts(v, begun, start) {
  if (v.transport_s === null || v.transport_s === undefined) {
    const s = (v.between_s || 0) * 1000;
    return s > 0 ? [{kind: "between", from: Math.max(start, begun - s), to: begun}] : [];
  }
  const arrived = ms(v.arrived), out = [];
  if (v.transport_s > 0) out.push({kind: "transport", from: Math.max(start, arrived - v.transport_s * 1000), to: arrived});
  if (begun > arrived) out.push({kind: "queue", from: arrived, to: begun, open: v.state === "waiting"});
  return out;
}
