// Package story is what the record means, and the contracts by which the rest of
// the program asks for it.
//
// The record is every scan in the order it arrived, never changed. The story is a
// pure, total fold over the scans of one family of batches, sorted by the time at
// which things happened. Undo, correction and late arrival are one mechanism: the
// record grows, and what comes after is folded again. Family is the state, Add
// takes an entry in, and the rules of the floor say what does not fit.
//
// The package knows no clock, opens no file and starts no goroutine. Log and
// Tables are what a record is kept in; Desk is where the rest of the program
// asks and reports.
//
// # Decisions, with their reasons
//
//   - A rejected first-off bars the run until one passes: at that machine, and, where
//     one is wanted, at every machine without a verdict of its own, for boxes split off
//     as well. A new set-up or another submission does not lift it; who may pass one may
//     let it run, and says why. Good pieces counted meanwhile are kept with a question:
//     what was made was made.
//   - A clock that is a day off is kept and asked about, not refused: what was done is
//     not in doubt, only when. It stands at its arrival until someone says. A late
//     scan's clock can't be judged by its arrival, so it is held between the release,
//     what its device said before (NotBefore, found at the desk and kept in the entry,
//     so that the fold stays pure) and its arrival.
//   - Hints of order come from the route as released. An operation added on the floor
//     would change the order of what came before it.
//   - Scans made in closed time are evidence. A run or set-up over closed time is cut,
//     marked and asked about, except where someone was seen: between two scans of the
//     visit the work went on, for eight hours at most; before the first and after the
//     last, for one hour. Breaks are cut without a question; only more than an hour is
//     asked about. Stops and first-off checks stay in clock time in a lead time; machine
//     hours and losses take the open part of them.
//   - Overtime and days off said afterwards hold from the day they are for; other
//     changes of a calendar from now.
//   - The fold knows trips, not metres. How far a trip was is for the plan that held on
//     its day, so a plan can be mended without folding stories again.
//   - Ties are broken by place along the route, then by the scan's id, not by sequence.
//     With sequence, two orders of arrival of the same late scans could give two
//     stories; with ids they cannot. What is said *about* scans stands after all that
//     happened at the same moment.
//   - Counters bound times. A scan cannot have happened before an earlier one of the
//     same device happened; times that had to be moved are marked uncertain. One that
//     says it happened after a higher number had arrived shows that the device lost its
//     memory and counts from one again; its own time stands.
//   - Corrections build up. A later one leaves standing what it does not name. The time
//     that a correction names is its target's, never its own. A maker's undo counts both
//     clocks, the device's and the server's.
//   - A hold and a superseded drawing bar beginning, not ending. Pieces that come out of
//     a run that was on are counted.
//   - Numbers are derived, never stored. Visits keep what was counted; tallies are
//     worked out from them each time. So an undo or a late scan cannot leave a stale
//     number after it.
//   - Questions have names made of their numbers. An answer holds while the numbers
//     stand; when they change, the question opens again.
//   - A finish whose count does not fit still ends the visit. Only the pieces wait for
//     an answer; otherwise the board would show a machine at work that is not.
//   - Running two machines on one operation does not end the first one's visit; moving
//     on does. A stopped or waiting visit ends when the batch is seen elsewhere; a
//     running one of the same operation goes on.
//   - Reworked pieces are good again only at the operation that sent them to rework. On
//     the way there they are passed on.
//   - A batch released with a date before its arrival was on the floor already: its
//     first scan may be at any operation, and what lies before is assumed done. That is
//     the first day of a shop.
//   - Each piece beyond what came in asks: a slip of the finger is not a bar. Under the
//     first rules up to a fifth, or ten pieces, raised what was started by themselves.
//   - The drawings of one list are in force together. A later list with another drawing
//     of the part supersedes them.
//   - The station office stands for what is done at a desk. A decision needs no machine.
package story
