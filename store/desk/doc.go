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
package desk
