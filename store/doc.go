// Package store keeps the record, its ids, the ledger derived from it, the last
// snapshot and the tables beside it, and runs the desk at which scans are
// decided.
//
// # The file
//
// One bbolt file, tallywalk.db, holds these buckets:
//
//	meta      format, epoch (the newest), created, head (sequence and link of the chain)
//	record    sequence (8 bytes, big-endian) -> link of the chain (32 bytes) + body
//	ids       id of a scan or release (16 bytes) -> sequence (8 bytes)
//	ledger    one bucket for each kind of row, see Row; derived, can be rebuilt
//	snapshot  last -> where replay may begin
//	tables    one bucket for each table of story.Tables
//
// A body is compact JSON with short keys (see codec.go); what can be known from
// elsewhere in the entry is left out, so that a scan costs under 300 bytes with
// its id. Link n is SHA-256 of link n-1 and body n; link 0 is zero bytes.
// Sequences run from 1 without a gap. Rows of the record are only ever added at
// the end, which is why their pages are filled to the brim.
//
// The ledger holds what no replay should have to find out again: visits (one
// row for each ended visit), families (sequences of each family that has left
// the floor), cards and orders (where to find those), used (route revisions
// that a batch was released on), adopted (scans that a correction brought to
// another family as well), epochs (where each began that an entry of its own
// began).
//
// An entry that says nothing but an epoch begins one, anywhere in the record: a
// copy was put back there, and stations send again what it lacks (epoch.go). A
// file has format 2 from then on, else 1. Beside it lies tallywalk.head, the end
// of the record as it was some seconds ago: a chain alone hides a tail that was
// cut off.
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
package store
