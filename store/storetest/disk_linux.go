package storetest

import (
	"bytes"
	"io"
	"math/rand/v2"
	"os"
	"reflect"
	"sync"
	"syscall"
	"testing"
	"unsafe"

	bolt "go.etcd.io/bbolt"
)

// Kinds of operations that a Disk can let fail.
const (
	DiskWrite = "write" // a page of data, or of the two that say where data is
	DiskSync  = "sync"  // what was written is made safe
	DiskGrow  = "grow"  // the file is made longer
)

// DiskFault is one operation that goes wrong, or a way in which all do.
type DiskFault struct {
	Kind string
	Nth  int           // which one of its kind, from 1; 0 = none
	Err  syscall.Errno // of a write
	Torn bool          // half of the write is done before it fails
	Slow func()        // called before each write; for disks that take their time
}

// Disk stands between bbolt and the disk on which an open file lies. It lets the
// operation fail that it is asked to, and knows what of the file would be there if the
// power went now: what was made safe, and any part of the rest.
//
// bbolt has no seam for this: its writes are a field that it does not export, which is
// set here, and a sync or a longer file fails for real, because another descriptor, of
// something that cannot be synced, is put in the place of the file's. Only tests may.
type Disk struct {
	tb    testing.TB
	fault DiskFault

	mu       sync.Mutex
	db       *bolt.DB
	file     *os.File       // bbolt's
	own      *os.File       // the same open file, which stays when bbolt's is exchanged
	reads    *os.File       // the other end of null
	null     *os.File       // a pipe: cannot be synced or made longer
	away     bool           // bbolt's descriptor is exchanged
	count    map[string]int // operations so far
	met      bool           // the fault happened
	page     int
	unsafe   map[int64]lost // pages that are written and not safe
	highest  int64          // end of what was written
	lastMeta bool           // the last write was of a meta page
	failed   bool           // the last write failed, so that no sync followed it
}

// lost is a page whose newest content may be gone.
type lost struct {
	safe []byte // what is there if all else is lost
	gone bool   // its sync failed: no later sync makes it safe, only writing it again
}

// NewDisk makes one for store.Options. The fault is counted from when it is asked for,
// see Fail.
func NewDisk(tb testing.TB) *Disk {
	tb.Helper()
	d := &Disk{tb: tb, count: map[string]int{}, unsafe: map[int64]lost{}}
	reads, null, err := os.Pipe()
	if err != nil {
		tb.Fatal(err)
	}
	d.reads, d.null = reads, null
	if syscall.Fdatasync(int(null.Fd())) == nil {
		tb.Fatal("a pipe can be synced here, so that no sync can be made to fail")
	}
	return d
}

// hidden gives a field that is not exported.
func hidden[T any](tb testing.TB, of any, names ...string) *T {
	tb.Helper()
	v := reflect.ValueOf(of).Elem()
	for _, n := range names {
		if v = v.FieldByName(n); !v.IsValid() {
			tb.Fatalf("%T has no field %s any more", of, n)
		}
	}
	p, ok := reflect.NewAt(v.Type(), unsafe.Pointer(v.UnsafeAddr())).Interface().(*T)
	if !ok {
		tb.Fatalf("the field %v of %T is a %s", names, of, v.Type())
	}
	return p
}

// Fail asks for a fault; operations are counted from here on.
func (d *Disk) Fail(fault DiskFault) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fault, d.met, d.count = fault, false, map[string]int{}
}

// Opened stands before a file that was opened.
func (d *Disk) Opened(db *bolt.DB) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.db, d.file = db, *hidden[*os.File](d.tb, db, "file")
	d.failed = false
	fd, err := syscall.Dup(int(d.file.Fd()))
	if err != nil {
		d.tb.Fatal(err)
	}
	d.own = os.NewFile(uintptr(fd), d.file.Name())
	d.page, db.AllocSize = os.Getpagesize(), 8*os.Getpagesize() // it grows often
	if info, err := d.own.Stat(); err == nil && d.highest == 0 {
		d.highest = info.Size()
	}
	*hidden[func([]byte, int64) (int, error)](d.tb, db, "ops", "writeAt") = d.writeAt
}

// Closing leaves a file before it is closed.
func (d *Disk) Closing() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.db == nil {
		return
	}
	d.settle()
	d.put(d.own)
	d.away = false
	*hidden[func([]byte, int64) (int, error)](d.tb, d.db, "ops", "writeAt") = d.file.WriteAt
	_ = d.own.Close() // the same file is open, and closed, elsewhere
	d.db, d.own = nil, nil
}

// Close ends what the disk holds itself.
func (d *Disk) Close() {
	d.Closing()
	_, _ = d.null.Close(), d.reads.Close() // nothing was written there
}

// Met reports whether the fault happened.
func (d *Disk) Met() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.met || d.away && d.fault.Kind == DiskSync
}

// Count is how many operations of a kind there were.
func (d *Disk) Count(kind string) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.count[kind]
}

// Before is called before something is written: the file may be made longer then. The
// nth time, making it longer fails.
func (d *Disk) Before() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.db != nil && d.hits(DiskGrow) {
		d.exchange()
	}
}

// After is called once something was written, or could not be.
func (d *Disk) After(err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.away && d.fault.Kind == DiskGrow {
		d.put(d.own)
		d.away, d.met = false, err != nil
	}
}

func (d *Disk) hits(kind string) bool {
	d.count[kind]++
	return d.fault.Kind == kind && d.count[kind] == d.fault.Nth
}

// exchange puts what cannot be synced in the place of bbolt's file.
func (d *Disk) exchange() {
	d.put(d.null)
	d.away = true
}

func (d *Disk) put(f *os.File) {
	if err := syscall.Dup3(int(f.Fd()), int(d.file.Fd()), syscall.O_CLOEXEC); err != nil {
		d.tb.Error(err)
	}
}

// settle takes note of how the sync before ended.
func (d *Disk) settle() {
	if d.away && d.fault.Kind == DiskGrow { // it had not to be longer
		d.put(d.own)
		d.away = false
	}
	for at, l := range d.unsafe {
		switch {
		case d.away:
			l.gone = true
			d.unsafe[at] = l
		case !l.gone:
			delete(d.unsafe, at)
		}
	}
	if d.away {
		d.put(d.own)
		d.away, d.met = false, true
	}
}

func (d *Disk) slow() func() {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.fault.Slow
}

// writeAt takes the place of bbolt's: data are written, then synced, then a meta page is
// written, then synced.
func (d *Disk) writeAt(b []byte, at int64) (int, error) {
	if slow := d.slow(); slow != nil {
		slow()
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	meta := at < 2*int64(d.page)
	if meta || d.lastMeta {
		d.settle() // between the two there was a sync
	}
	first := meta || d.lastMeta || d.count[DiskWrite] == 0
	d.lastMeta = meta
	if first && d.hits(DiskSync) {
		d.exchange()
	}
	if !d.hits(DiskWrite) {
		return len(b), d.write(b, at)
	}
	d.met, d.failed = true, true
	if d.fault.Torn {
		b = b[:len(b)/2]
		if err := d.write(b, at); err != nil {
			return 0, err
		}
		return len(b), d.fault.Err
	}
	return 0, d.fault.Err
}

func (d *Disk) write(b []byte, at int64) error {
	for off := 0; off < len(b); off += d.page {
		l, ok := d.unsafe[at+int64(off)]
		if !ok {
			l.safe = make([]byte, d.page)
			if _, err := d.own.ReadAt(l.safe, at+int64(off)); err != nil && err != io.EOF {
				return err
			}
		}
		l.gone = false
		d.unsafe[at+int64(off)] = l
	}
	d.highest = max(d.highest, at+int64(len(b)))
	_, err := d.own.WriteAt(b, at)
	return err
}

// sector is what a disk writes whole or not at all.
const sector = 512

// PowerCut is the file as it would be found if the power went now: of what is not safe,
// chance says which sectors are there. Nothing may be writing.
func (d *Disk) PowerCut(chance *rand.Rand) []byte {
	d.tb.Helper()
	d.mu.Lock()
	defer d.mu.Unlock()
	if !d.failed {
		d.settle()
	}
	all, err := os.ReadFile(d.own.Name())
	if err != nil {
		d.tb.Fatal(err)
	}
	for at, l := range d.unsafe {
		for off := 0; off < d.page && int(at)+off < len(all); off += sector {
			if chance.IntN(2) == 0 {
				copy(all[int(at)+off:], l.safe[off:off+sector])
			}
		}
	}
	return bytes.Clone(all)
}
