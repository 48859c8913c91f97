// Package oldlog turns the log that a shop kept before into machines, routes,
// batches and scans. A row of it is a stretch of work: a batch at an operation
// on a machine from one moment to another, with the pieces that came out.
//
// Each row becomes a visit of its own, set up or running from its start and
// finished at its end, so that run time is the sum of the production rows,
// set-up time that of the set-up rows, and what lies between is waiting. The
// operations of a route are numbered 10, 20, ... in the order in which batches
// first did them; batches whose orders differ only by steps left out or done
// again share a route revision log-1, log-2, ... What a batch passed over on it
// counts as not needed.
//
// Rows count pieces more than once, or not at all; what became of the pieces at
// each operation is worked out of all of them ([story.Reckoning]), so that
// none is lost or made. Visits keep what their rows count.
//
// Ids are made of what the rows say, so that the same log taken twice makes
// nothing twice, and a longer one only what is new. What is odd is reported with the
// lines it is in, and mended in one way that the report names.
//
// # Decisions, with their reasons
//
//   - Each row of an old log is a visit of its own, whatever overlaps it, so that run
//     and set-up times are the sums of the rows. Nobody is asked about it; the import's
//     report says what did not fit. Pieces that nobody accounts for in a batch that is
//     over are missing, neither good nor scrap, so that yields stay what the log says.
//   - What rows count is not what there was: a second pass counts pieces again, some
//     operations count none. The import works out from all rows what went on at each
//     operation (oldlog/reckon.go) and says it as a decision that stands in place of the
//     sums (traveler/reckon.go), so that pieces are conserved and started is what the
//     log says. Visits keep the numbers of their rows.
//   - Routes of an old log are ways, not orders: orders that differ by steps left out or
//     done again are one (oldlog/ways.go); a step that a batch passed over counts as not
//     needed.
package oldlog
