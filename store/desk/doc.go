// Package desk is where scans, releases and changes are decided: one writer over
// any story.Log, and the floor that everybody reads.
//
// # Who runs when
//
// Desk has one writer. It decides commands one after the other on its own
// floor, which no reader sees, and gathers what they add in a group. The
// committer appends a group in one transaction with its ledger rows, and only
// then shows it: it merges what changed into the shown floor under a lock,
// closes the changed channel, and answers. One group is in flight at a time;
// the writer decides the next one meanwhile, and sends it off once the first is
// answered and nobody comes any more. Families are frozen, so readers hold the
// lock only to fetch pointers. After any error the group in flight and the one
// being decided fail, and the writer drops its floor, opens the log again and
// replays, so that memory never knows more, or less, than the file. A read
// never keeps a transaction open while it calls back.
//
// # Decisions, with their reasons
//
//   - The server's clock is believed while the record and a steady clock agree with it,
//     to five seconds (someone may say that it is right though the record is ahead:
//     entries then keep what it said, Clock). Else nothing is recorded: stations keep
//     what is scanned, so waiting loses nothing and a guess would falsify. Arrivals
//     never decrease.
//   - A request of many scans is taken in parts of 50, so that others go between. Parts
//     that went before one that fails are kept, and answered the same when they are sent
//     again.
//   - Snapshots hold sequences, not states. The stories of open families are folded
//     again on opening, so no state on disk can be older than the rules.
//   - A scan that was in a record before is taken as it was taken there
//     (traveler.Taken): its arrival bounds when it happened, a split keeps the card it
//     gave, and what was refused stays refused. Else the same scans could give another
//     story.
//   - An epoch begins with an entry of its own, where a copy was put back. A station
//     keeps its answered scans 14 days; when the epoch is not the one that answered
//     them, it sends them again with that epoch and the answer (before). The writer
//     believes that of a station only, of an id it does not know, and never in the epoch
//     that is on: a refused scan stays refused, a split keeps its card if that is free,
//     and the rest is decided again as scans that come late. Nothing gets in as kept
//     because a device says so.
//   - A scan whose basis is beyond the end, in the same epoch, begins an epoch by
//     itself: an older file was laid in place. That can only happen while nobody has the
//     file open, so it is believed once each time the desk opens; a wrong or hostile
//     station cannot make the others send again and again. Refusing would have stopped a
//     night shift for a muddle of the office.
//   - A box that is scanned before its split comes back is brought home by corrections
//     that the writer adds (bringHome), since two stations send in no common order.
//   - verify makes the ledger again in memory, with a hash for each row of facts, and
//     compares it with the one that is kept in a transaction that only reads. What depends
//     on when families left the floor is let be: rows of those that are on it again, and
//     the order of cards in the row of a works order.
package desk
