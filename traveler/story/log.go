package story

import (
	"context"
	"tallywalk/traveler"
	"time"
)

// Hash is a link of the chain over the record: SHA-256 of the link before and
// the entry's bytes.
type Hash [32]byte

// Log is the contract of the record: what store keeps, and what an in-memory
// log and a replicated one must keep as well.
//
// An append names the last sequence it was decided on, takes all entries or
// none, and returns only when they are as safe as the log makes them. After any
// error the caller opens the log again and replays; it assumes nothing.
// Implementations are used by one writer at a time; reads may go on beside it.
type Log interface {
	// Append adds entries, whose Seq must run on from last. It fails with
	// KindConflict when the log's end is not last, or an id is there already;
	// with KindInvalid when a row has no bucket or key; with KindFull when the
	// disk takes no more. On success the ids are kept
	// for ever, and the rows replace the ledger rows of their keys.
	Append(last traveler.Seq, entries []*traveler.Entry, rows []Row) error
	// Head is the last sequence and its link of the chain.
	Head() (traveler.Seq, Hash)
	// Entries calls yield for every entry with from <= Seq in order until it
	// returns false. This and all other reads fail with KindCorrupt where the log is
	// damaged, and with KindBusy when it is closed.
	Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error
	// Get reads the entries of the given sequences, in that order. It fails with
	// KindNotFound when there is none of a sequence.
	Get(seqs []traveler.Seq) ([]*traveler.Entry, error)
	// Find gives the sequence an id was kept under; 0 when it was never kept.
	Find(id traveler.ScanID) (traveler.Seq, error)
	// Rows calls yield for every ledger row of a bucket, by key. The value is good
	// until yield returns; whoever keeps it copies it.
	Rows(bucket string, yield func(key string, value []byte) bool) error
	// Range calls yield for the ledger rows of a bucket with from <= key < to, by
	// key; an empty to is after all. The value is good until yield returns.
	Range(bucket, from, to string, yield func(key string, value []byte) bool) error
	// Row reads one ledger row; nil when there is none.
	Row(bucket, key string) ([]byte, error)
	// Save keeps a snapshot with the sequence and head hash it was taken at. It fails
	// as Append does when nothing can be written.
	Save(s *Snapshot) error
	// Load gives the last snapshot, or nil when there is none that fits the
	// record (sequence, head hash, rules, format).
	Load() (*Snapshot, error)
	// Epoch names this record; it is the newest that an entry said. A restore
	// begins a new one, with an entry of its own.
	Epoch() string
	// Reopen closes and opens the log again after an error. It fails as opening does.
	Reopen() error
	// Close lets go of the log. It fails when what was written last is not safe.
	Close() error
}

// Row is a line of the ledger: derived, replaceable, keyed. A nil value removes
// the row.
type Row struct {
	Bucket, Key string
	Value       []byte
}

// Snapshot says where replay may begin: which families are open and the
// sequences of each. The stories themselves are folded again from the record.
type Snapshot struct {
	Seq    traveler.Seq                     `json:"seq"`
	Head   string                           `json:"head"`
	Rules  int                              `json:"rules"`
	Format int                              `json:"format"`
	Shop   []traveler.Seq                   `json:"shop"`
	Open   map[traveler.Code][]traveler.Seq `json:"open"`
	Loose  []traveler.Seq                   `json:"loose"`
	// Devices is what each device had said last.
	Devices map[traveler.DeviceID]Spoken `json:"devices,omitempty"`
}

// Answer is what a scan or a release is answered.
type Answer struct {
	ID      traveler.ScanID
	Outcome traveler.Outcome
	Again   bool // it was answered before; this is the same answer
	Seq     traveler.Seq
	Say     traveler.Msg
	Offer   bool  // refused, but may be said again with Anyway
	Err     error // set when this one could not be taken at all (409, forbidden)
	Family  *Family
	Card    traveler.Code
	Issued  traveler.Code // the card that a split gave
}

// Said is a scan and who made it. An empty role means that the badge
// on the scan is unknown.
type Said struct {
	By   traveler.Actor
	Scan traveler.Scan
	// Taken is set when the scan was in a record before.
	Taken *Taken
	// Epoch is the one that the device knew when it made the scan, or when the
	// scan was answered if Before is set: Basis and Before.Seq count there.
	Epoch string
	// Before is how a station says that its scan was answered in an epoch that a
	// restored copy lacks the end of.
	Before *Before
}

// Before is how a scan was answered before a copy of the record was put back.
// Only the station that made it may say so, and it holds only for a scan that
// the copy lacks: a refused one stays refused, a split keeps its card if that is
// free, and the rest is decided again as scans that come late. What was answered
// is not said: it may name people, and they stay out of the record.
type Before struct {
	Outcome traveler.Outcome `json:"outcome"`
	Seq     traveler.Seq     `json:"seq,omitempty" api:"min=0"` // the sequence it was kept under
	Issued  traveler.Code    `json:"issued,omitempty"`          // the card that a split gave
}

// Taken is how a scan was taken in the record that it comes from: it gives the
// same story only with the arrival that bounds its time, with what its names
// meant then, and with the card that a split gave.
type Taken struct {
	Arrived time.Time
	Outcome traveler.Outcome
	Card    traveler.Code
	Machine traveler.MachineID
	Other   traveler.Code
	Say     traveler.Msg
}

// Tables keeps rows outside the record: names of people, accounts, stations,
// tokens. They can be changed and removed, which the record cannot.
type Tables interface {
	Put(table, key string, value []byte) error
	Get(table, key string) ([]byte, error) // nil when there is none
	Delete(table, key string) error
	Each(table string, yield func(key string, value []byte) bool) error // the value is good until yield returns
}

// Desk is where the rest of the program asks and reports. There is one in a
// running program. Everything it returns is frozen: read it, never change it.
type Desk interface {
	// Scans takes scans in their order and answers each after it is safe. The
	// error is for all of them together (full disk, closing).
	Scans(ctx context.Context, said []Said) ([]Answer, error)
	// Release puts batches on the floor, all or none.
	Release(ctx context.Context, by traveler.Actor, rs []traveler.Release, cards []traveler.Code) ([]Answer,
		error)
	// Change changes the shop; it fails with KindConflict when a used route
	// revision would change.
	Change(ctx context.Context, by traveler.Actor, c *traveler.Change) error
	// Shop is the shop as committed.
	Shop() *traveler.Shop
	// Head is the last committed sequence and its link of the chain.
	Head() (traveler.Seq, Hash)
	// Open calls yield for each family that is still on the floor.
	Open(yield func(*Family) bool)
	// Family gives the family a batch belongs to, finished ones too.
	Family(card traveler.Code) (*Family, error)
	// FindCard resolves what was scanned or typed into batches: one for a code,
	// perhaps several for a works order number.
	FindCard(ref string) []traveler.Code
	// Facts calls yield for each batch that fits: those on the floor first, as they
	// were released, then those whose family has left it, by part and end.
	Facts(q FactQuery, yield func(*BatchFact) bool) error
	// Loose lists kept scans that belong to no batch.
	Loose() []*traveler.Entry
	// Changed returns a channel that is closed at the next commit. Take it,
	// read, then wait on it: nothing is missed.
	Changed() <-chan struct{}
	// ChangedSince gives the families that changed after a version of the floor, by
	// their roots, nil for one that left it, and the version that they are of. ok
	// is false when that is not known any more and all may have changed; of
	// version 0 it never is.
	ChangedSince(version uint64) (families map[traveler.Code]*Family, now uint64, ok bool)
	// Entries reads the record from a sequence on.
	Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error
	// Epoch names this record.
	Epoch() string
	// ClockDoubt says why the server's clock can't be believed; nil when it can.
	// While it can't, Scans, Release and Change fail with KindBusy.
	ClockDoubt() *ClockDoubt
	// TrustClock believes the server's clock as it stands, because someone who
	// may said that it is right.
	TrustClock()
}
