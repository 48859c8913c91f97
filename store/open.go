package store

import (
	"crypto/rand"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// FileName is the name of the data file in its folder.
const FileName = "tallywalk.db"

// lockWait is how long Open waits for another process to let go of the file: a
// little less than the second within which a second server must give up.
const lockWait = 700 * time.Millisecond

// initialMap is how much address space is mapped at first. A file that outgrows
// its mapping must wait for all readers before it grows, a backup that takes
// minutes among them, so it is generous: it costs nothing but addresses. Windows
// makes the file as big as the mapping.
func initialMap() int {
	if runtime.GOOS == "windows" || strconv.IntSize == 32 {
		return 16 << 20
	}
	large := int64(8 << 30)
	return int(large)
}

// kindOfShare is shareOf; tests have shares of their own.
var kindOfShare = shareOf

// ShareOf names the kind of network share that a folder lies on; empty when it lies on a disk of this
// computer, or that cannot be known.
func ShareOf(dir string) string { return shareOf(dir) }

// Options say how a file is opened. The zero value is what serve uses, but for
// Now.
type Options struct {
	Now     func() time.Time // when a new file is created; nil leaves it unsaid
	Rand    io.Reader        // names a new record; nil = crypto/rand
	MaxSize int64            // bytes of the file at most; 0 = as many as the disk has
	NoSync  bool             // a file that is thrown away: nothing is safe until it is closed
	Look    bool             // only read what is there: nothing is made or written
	Must    bool             // there must be a record already: none is begun
	// Elsewhere says that the record is safe elsewhere: a file that is gone, or ends before
	// what the folder held once, is begun again.
	Elsewhere bool
	Disk      Disk // stands between the file and what it lies on, for tests; nil = nothing does
}

// Disk is who wants to know when a file is opened and about to be closed.
type Disk interface {
	Opened(db *bolt.DB)
	Closing()
}

// File is a log, with its tables, in one bbolt file. It is safe for one writer
// and any number of readers at a time.
type File struct {
	path string
	opt  Options

	mu sync.RWMutex // held for writing while the file is closed and opened
	db *bolt.DB

	closed  bool         // by Close; under mu
	waiting atomic.Int32 // those who wait to open the file again, for whom long readings end
	writing sync.Mutex   // held while a transaction writes, and until it is known how it ended
	good    atomic.Int64 // number of the last transaction that is known to be safe
	suspect atomic.Bool  // a commit failed since
	still   *bolt.Tx     // of a file as it is at one moment, see Still; nil else
	of      *File        // the file that still is of

	headMu sync.Mutex
	head   head
	epoch  string
	noted  head // what lies beside the file, see Note
}

// head is the end of the record.
type head struct {
	seq  traveler.Seq
	link story.Hash
}

var (
	bucketMeta     = []byte("meta")
	bucketRecord   = []byte("record")
	bucketIDs      = []byte("ids")
	bucketLedger   = []byte("ledger")
	bucketSnapshot = []byte("snapshot")
	bucketTables   = []byte("tables")

	keyFormat  = []byte("format")
	keyEpoch   = []byte("epoch")
	keyCreated = []byte("created")
	keyHead    = []byte("head")
	keyMark    = []byte("stream")
	keyLast    = []byte("last")
	keySum     = []byte("sum")
)

// Open opens the data file of a folder, and makes both when they are not there
// and the options do not say otherwise. The error is an *traveler.Error:
// KindBusy when another process has the file, KindConflict when it lies on a network
// share and would be written, KindCorrupt when it is damaged,
// not ours, from a newer version, or ends before what the folder held once,
// KindNotFound when it must be there and is not, KindFull when nothing can be
// written.
func Open(dir string, opt Options) (*File, error) {
	if !opt.Look && !opt.Must {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return nil, (&File{path: filepath.Join(dir, FileName)}).fault("open", err)
		}
	}
	return openPath(filepath.Join(dir, FileName), opt)
}

// OpenCopy opens a copy of a data file to look at it. It fails as Open does.
func OpenCopy(path string) (*File, error) {
	return openPath(path, Options{Look: true})
}

func openPath(path string, opt Options) (*File, error) {
	if opt.Rand == nil {
		opt.Rand = rand.Reader
	}
	f := &File{path: path, opt: opt}
	if err := f.open(); err != nil {
		if f.db != nil {
			_ = f.shut(f.db)
		}
		return nil, f.fault("open", err)
	}
	return f, nil
}

// Path is where the file lies.
func (f *File) Path() string { return f.path }

func (f *File) open() error {
	if err := f.there(); err != nil {
		return err
	}
	if kind := kindOfShare(filepath.Dir(f.path)); kind != "" && !f.opt.Look {
		return traveler.Fail(traveler.KindConflict, "store.share", f.path, kind)
	}
	return guard(func() error {
		db, err := bolt.Open(f.path, 0o600, &bolt.Options{
			Timeout: lockWait, FreelistType: bolt.FreelistMapType, NoStatistics: true,
			InitialMmapSize: f.mapped(), MaxSize: int(f.opt.MaxSize), NoSync: f.opt.NoSync,
			ReadOnly: f.opt.Look,
		})
		if err != nil {
			return err
		}
		if f.opt.Disk != nil {
			f.opt.Disk.Opened(db)
		}
		err = f.begin(db)
		if err == nil && !f.opt.Elsewhere {
			err = f.atLeastNoted(db)
		}
		if err != nil {
			_ = f.shut(db)
			return err
		}
		f.db = db
		return f.makeSafe(db)
	})
}

// makeSafe makes what is found safe before anything is answered from it. A program that
// was killed may have written what it never synced, and a sync that failed may have been
// the last try at a page: only writing it again makes that safe, so that the end of the
// record is put again, which writes the other of the two pages that say where all is.
// Where it fails the file can be read, and is not written before it is safe.
func (f *File) makeSafe(db *bolt.DB) (err error) {
	if f.opt.Look || f.opt.NoSync {
		f.suspect.Store(false)
		return nil
	}
	defer func() {
		if err != nil {
			f.suspect.Store(true)
		}
	}()
	found := 0
	if err := db.View(func(tx *bolt.Tx) error { found = tx.ID(); return nil }); err != nil {
		return err
	}
	if f.suspect.Load() && int64(found) > f.good.Load() {
		head := head{}
		head.seq, head.link = f.Head()
		err := db.Update(func(tx *bolt.Tx) error {
			found = tx.ID()
			return tx.Bucket(bucketMeta).Put(keyHead, head.bytes())
		})
		if err != nil {
			return err
		}
	} else if err := db.Sync(); err != nil {
		return err
	}
	f.good.Store(int64(found))
	f.suspect.Store(false)
	return nil
}

func (f *File) mapped() int {
	if f.opt.Look {
		return 0 // as much as the file has
	}
	return initialMap()
}

// there refuses a file without a byte, which was something else before, and one
// that must be there and is not.
func (f *File) there() error {
	info, err := os.Stat(f.path)
	switch {
	case err == nil && info.IsDir():
		return f.corrupt("store.foreign")
	case err == nil && info.Size() == 0:
		return f.corrupt("store.nothing")
	case err != nil && (f.opt.Look || f.opt.Must):
		return traveler.Fail(traveler.KindNotFound, "store.nofile", f.path)
	case f.opt.Elsewhere:
		return nil
	case err != nil && f.lastNoted().seq > 0:
		return f.corrupt("store.gone", f.lastNoted().seq.String())
	case err != nil && f.noteful():
		if left, _ := filepath.Glob(filepath.Join(filepath.Dir(f.path), "tallywalk-aside-*.db")); len(
			left) > 0 {
			return f.corrupt("store.aside", filepath.Base(left[len(left)-1]))
		}
	}
	return nil
}

// begin makes the buckets of an empty file and checks those of any other.
func (f *File) begin(db *bolt.DB) error {
	empty, err := f.check(db)
	if err != nil || !empty {
		return err
	}
	if f.opt.Look || f.opt.Must {
		return f.corrupt("store.nothing")
	}
	if err := db.Update(f.create); err != nil {
		return err
	}
	_, err = f.check(db)
	return err
}

// check reads what a file says of itself. empty is true for a file that holds
// nothing at all, such as one that has just been made.
func (f *File) check(db *bolt.DB) (empty bool, err error) {
	err = db.View(func(tx *bolt.Tx) error {
		if info, err := os.Stat(f.path); err != nil || info.Size() < tx.Size() {
			return f.corrupt("store.short")
		}
		if name, _ := tx.Cursor().First(); name == nil {
			empty = true
			return nil
		}
		meta := tx.Bucket(bucketMeta)
		if meta == nil || len(meta.Get(keyFormat)) != 8 {
			return f.corrupt("store.foreign")
		}
		if n := binary.BigEndian.Uint64(meta.Get(keyFormat)); n < formatPlain || n > Format {
			return f.corrupt("store.newer", strconv.FormatUint(n, 10), strconv.Itoa(Format))
		}
		return f.readHead(tx)
	})
	return empty, err
}

// Broken reports whether an error says that a file cannot be read any more, and not that it
// is one of a newer program.
func Broken(err error) bool {
	var e *traveler.Error
	return errors.As(err, &e) && e.Kind == traveler.KindCorrupt && e.Say.Key != "store.newer"
}

func (f *File) corrupt(key string, args ...string) error {
	return traveler.Fail(traveler.KindCorrupt, key, append([]string{f.path}, args...)...)
}

func (f *File) readHead(tx *bolt.Tx) error {
	for _, name := range [][]byte{bucketRecord, bucketIDs, bucketLedger, bucketSnapshot, bucketTables} {
		if tx.Bucket(name) == nil {
			return f.corrupt("store.damaged")
		}
	}
	h := head{}
	if k, v := tx.Bucket(bucketRecord).Cursor().Last(); k != nil {
		if len(k) != 8 || len(v) < len(h.link) {
			return f.corrupt("store.damaged")
		}
		h.seq = traveler.Seq(binary.BigEndian.Uint64(k))
		copy(h.link[:], v)
	}
	if string(tx.Bucket(bucketMeta).Get(keyHead)) != string(h.bytes()) {
		return f.corrupt("store.damaged")
	}
	f.headMu.Lock()
	defer f.headMu.Unlock()
	f.head, f.epoch = h, string(tx.Bucket(bucketMeta).Get(keyEpoch))
	return nil
}

func (h head) bytes() []byte { return append(seqKey(h.seq), h.link[:]...) }

func seqKey(seq traveler.Seq) []byte {
	return binary.BigEndian.AppendUint64(make([]byte, 0, 8+len(story.Hash{})), uint64(seq))
}

func (f *File) create(tx *bolt.Tx) error {
	for _, name := range [][]byte{bucketRecord, bucketIDs, bucketLedger, bucketSnapshot, bucketTables} {
		if _, err := tx.CreateBucket(name); err != nil {
			return err
		}
	}
	meta, err := tx.CreateBucket(bucketMeta)
	if err != nil {
		return err
	}
	epoch, err := NewEpoch(f.opt.Rand)
	if err != nil {
		return err
	}
	created := ""
	if f.opt.Now != nil {
		created = f.opt.Now().UTC().Format(time.RFC3339)
	}
	for _, kv := range [][2][]byte{
		{keyFormat, seqKey(formatPlain)}, {keyEpoch, []byte(epoch)}, {keyCreated, []byte(created)},
		{keyHead, head{}.bytes()},
	} {
		if err := meta.Put(kv[0], kv[1]); err != nil {
			return err
		}
	}
	return nil
}

// NewEpoch draws the name of an epoch: 16 hex digits. It fails as the source does.
func NewEpoch(from io.Reader) (string, error) {
	var b [8]byte
	_, err := io.ReadFull(from, b[:])
	return hex.EncodeToString(b[:]), err
}

// Reopen closes the file and opens it again, as must be done after an error. It fails as
// opening does; where only the disk takes nothing, what is there can still be read.
func (f *File) Reopen() error { return f.reopen(true) }

// reopen opens the file again. One that was closed stays so, unless someone asks for it.
func (f *File) reopen(asked bool) error {
	f.waiting.Add(1)
	f.mu.Lock()
	defer f.mu.Unlock()
	f.waiting.Add(-1)
	if f.closed && !asked {
		return f.fault("open again", bolterrors.ErrDatabaseNotOpen)
	}
	f.closed = false
	if f.db != nil {
		_ = guard(func() error { return f.shut(f.db) })
		f.db = nil
	}
	return f.fault("open again", f.open())
}

// mustYield ends a reading that takes long, with KindBusy, when someone waits to open the
// file again: until then nobody else can read.
func (f *File) mustYield() error {
	if f.waiting.Load() > 0 {
		return f.fault("read", errYield)
	}
	return nil
}

var errYield = errors.New("the file has to be opened again")

func (f *File) shut(db *bolt.DB) error {
	if f.opt.Disk != nil {
		f.opt.Disk.Closing()
	}
	return db.Close()
}

// Close closes the file and notes its end beside it; reading it afterwards fails
// with KindBusy.
func (f *File) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.closed = true
	if f.db == nil {
		return nil
	}
	err := f.shut(f.db)
	f.db = nil
	return f.fault("close", errors.Join(err, f.Note()))
}

// Head is the last sequence and its link.
func (f *File) Head() (traveler.Seq, story.Hash) {
	f.headMu.Lock()
	defer f.headMu.Unlock()
	return f.head.seq, f.head.link
}

// HeadText is the end of the record as it is passed on, see ParseHead.
func (f *File) HeadText() string {
	seq, link := f.Head()
	return head{seq, link}.String()
}

// Epoch names this record: it is the newest that an entry said.
func (f *File) Epoch() string {
	f.headMu.Lock()
	defer f.headMu.Unlock()
	return f.epoch
}
