// Actual set-up and pace of one batch's operation, from its visits.
//
// A piece's time is first-pass run time through pieces made, without set-up
// pieces and rework. Visits whose end was inferred, or that still run, say
// nothing about pace and are left out; their number is told.
export function actuals(batch, operation) {
  let setup = 0, run = 0, made = 0, leftOut = 0, seen = 0;
  for (const v of batch.visits) {
    if (v.operation !== operation || v.rework_for) continue;
    seen++;
    setup += v.setup_s;
    const pieces = v.good + v.scrap + v.rework + v.review - v.setup_pieces;
    const told = v.state === "finished" && !v.inferred.includes("finish") && !v.inferred.includes("count");
    if (!told || v.run_s <= 0 || pieces <= 0) {
      if (v.run_s > 0) leftOut++;
      continue;
    }
    run += v.run_s;
    made += pieces;
  }
  return {seen, setupMin: setup / 60, pieceMin: made > 0 ? run / 60 / made : null, made, leftOut};
}

// planned is the planned minutes of a piece; the route says how many pieces one
// cycle makes.
export function plannedPiece(operation, route) {
  const o = route && route.operations.find((x) => x.operation === operation.operation);
  return operation.cycle_min / Math.max(1, (o && o.pieces_per_cycle) || 1);
}
