// Package ahead simulates the floor forward from the story as it stands: which
// dates can be promised, what to run next, and what would become of them if
// something were done otherwise. It is pure and total: no clock, no dice but the
// seed's, an answer for any story.
//
// Past reads a record in the order in which things became known; from it come the
// floor as of a moment (floor.go) and a Model of how long things take (model.go,
// picks.go, outside.go). Both are made ready (compile.go) and run (engine.go,
// dispatch.go); what the runs come to is a Forecast (outcome.go). Book keeps what
// was said each day, with what came of it, and corrects what is said next
// (correct.go). Watch does all of it for a shop that goes on.
//
// # Decisions, with their reasons
//
//   - A batch that comes free waits for two things: until it could be taken up even by a
//     free machine (someone carries it, finds its tools, plans it), and for the machine.
//     Only the first is drawn from the past; the second comes of the simulation. Where
//     the machine was busy until just before, a past wait says only that the first was
//     no longer: the reverse product-limit estimate. Whole waits on top of capacity
//     would count the queue twice.
//   - A machine before which several wait and which takes none of them stands for a
//     reason of its own (someone is missing, or sets another one): such gaps are drawn
//     between batches. Without them a full machine catches up in half the time it takes.
//   - Times are planned ones times a factor: of the operation, drawn towards its work
//     centre, drawn towards the shop, and how single ones lie around it. Operations
//     without a plan, as in old logs, have what they took.
//   - Things leave through the dock when something leaves: on some days of the week, at
//     some time, and a batch lets some departures go by. Hours of the dock alone would
//     spread lumps that are real.
//   - What may yet come to the floor is past weeks, each as a whole, since orders come in
//     bunches.
//   - What is said is corrected by the level of the draws that held in the last four
//     months, by how far ahead it lies, and not by hours added: dates lie in lumps, and an
//     hour more is no van more. P95 alone is moved by time, since its level often lies
//     beyond all draws. The bound is that of split conformal prediction.
//   - What was shown to people is kept: hits are counted of what was said, not of what would
//     be said now.
//   - Runs are hashed, not streamed: the draw of a batch at an operation is the same in
//     every scenario.
//   - All that happens at a moment happens before a machine takes from its line, so that
//     the order of events changes nothing. Ties go to the batch that came first.
//   - A record is read from its beginning once, and each family is folded as it was then.
//     The desk's facts would be quicker, but they know what came later.
//   - Held batches are taken to be free after a working day and a half on average; no
//     source. A batch whose other pieces are ahead of it counts where its first pieces are.
package ahead
