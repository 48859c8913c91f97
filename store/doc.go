// Package store keeps the record, its ids, the ledger derived from it, the last
// snapshot and the tables beside it. Who decides what goes into it is store/desk.
//
// # The file
//
// One bbolt file, tallywalk.db, holds these buckets:
//
//	meta      format, epoch (the newest), created, head (sequence and link of the chain)
//	record    sequence (8 bytes, big-endian) -> link of the chain (32 bytes) + body
//	ids       id of a scan or release (16 bytes) -> sequence (8 bytes)
//	ledger    one bucket for each kind of row, see Row; derived, can be rebuilt
//	snapshot  last -> where replay may begin; sum -> SHA-256 of it
//	tables    one bucket for each table of story.Tables
//	sums      the same buckets, with a sum of each row (sums.go)
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
// copy was put back there, and stations send again what it lacks (epoch.go). What
// a file holds decides its format (codec.go). Beside it lies tallywalk.head, the end
// of the record as it was some seconds ago: a chain alone hides a tail that was
// cut off.
//
// # Decisions, with their reasons
//
//   - The chain proves the record, the record proves the ledger; rows of tables have sums of
//     their own, so that one bit of an account or a setting does not change unseen. They are
//     compared when the file is verified, not each time a row is read: of a damaged disk
//     people should hear before a sign-in fails.
//   - Verify looks up each row by its key too: a page that only leads to others can be
//     damaged so that a walk finds all rows, and a look-up does not.
//   - The ledger keeps batches, not visits. Families on the floor are in memory anyway;
//     a batch's row has its visits.
//   - Before a range of facts is read, the kernel is advised of its pages
//     (store/ahead_linux.go): bbolt maps the file for reading at random, and with an
//     empty cache each page was waited for by itself, on a core that a scan could have
//     had.
//   - A file without a byte is refused, not begun again: it was something else before.
//   - The end of the record is noted beside the file every ten seconds and on closing,
//     after it is safe, so the note is never ahead. A folder whose file ends before its
//     note does not open, because the rest was answered as kept.
//   - Copies go at 100 MB a second, made safe every 4 MiB: unthrottled, the writer fell
//     to a tenth. The mapping of the file is 8 GB of addresses from the start, so that
//     no copy that is being read holds its growth up.
package store
