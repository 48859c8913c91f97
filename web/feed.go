package web

import (
	"encoding/json"
	"maps"
	"reflect"
	"sync"
	"time"
)

// feed is one live board: rows by their keys, and a head of what stands beside
// them. Each change gives it the next sequence; a socket pulls what it has not
// seen, so that a slow screen skips frames.
type feed struct {
	name string

	mu      sync.Mutex
	seq     uint64
	rows    map[string]stamped
	head    map[string]stamped
	goneN   int
	floor   uint64 // a socket older than this gets the whole
	changed chan struct{}
	closed  bool
	frames  map[uint64][]byte // encoded messages from a sequence to now
	about   about
}

// about is what every message of a board says.
type about struct {
	now   func() time.Time
	zone  string
	pace  float64
	today string
}

// stamped is a row or a part of the head with the sequence it came with.
// Values of rows are structs that can be compared with ==.
type stamped struct {
	val  any
	seq  uint64
	gone bool
}

const goneKept = 2000 // removed rows remembered for sockets that lag

func newFeed(name string, a about) *feed {
	return &feed{
		name: name, rows: map[string]stamped{}, head: map[string]stamped{}, changed: make(chan struct{}), frames: map[uint64][]byte{}, about: a,
	}
}

// publish stamps the rows and the parts of the head that differ with the next
// sequence, and signals. When again is set every socket gets the whole: for
// what is too much for a change.
func (f *feed) publish(today string, rows, head map[string]any, again bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	next := f.seq + 1
	moved := f.stamp(rows, next)
	for key, v := range head {
		if old, ok := f.head[key]; !ok || !reflect.DeepEqual(old.val, v) {
			f.head[key] = stamped{val: v, seq: next}
			moved = true
		}
	}
	if today != f.about.today {
		f.about.today, moved = today, true
	}
	if !moved && !again {
		return
	}
	f.seq = next
	if again {
		f.floor = next
	}
	f.forget()
	f.frames = map[uint64][]byte{}
	close(f.changed)
	f.changed = make(chan struct{})
}

func (f *feed) stamp(rows map[string]any, next uint64) (moved bool) {
	for key, v := range rows {
		if old, ok := f.rows[key]; !ok || old.gone || old.val != v {
			f.rows[key] = stamped{val: v, seq: next}
			moved = true
		}
	}
	for key, old := range f.rows {
		if _, ok := rows[key]; !ok && !old.gone {
			f.rows[key] = stamped{seq: next, gone: true}
			f.goneN++
			moved = true
		}
	}
	return moved
}

// forget drops removed rows once there are many; sockets that are older than
// what was dropped get the whole board.
func (f *feed) forget() {
	if f.goneN < goneKept {
		return
	}
	maps.DeleteFunc(f.rows, func(_ string, r stamped) bool { return r.gone })
	f.goneN, f.floor = 0, f.seq
}

// next gives the message that brings a socket from a sequence up to now, the
// sequence it is then at, and the channel to wait on. A nil message means that
// there is nothing new; a nil channel that the server closes.
func (f *feed) next(from uint64) (message []byte, seq uint64, wait <-chan struct{}, err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.closed {
		return nil, from, nil, nil
	}
	if from == f.seq && from != 0 {
		return nil, from, f.changed, nil
	}
	if m, ok := f.frames[from]; ok {
		return m, f.seq, f.changed, nil
	}
	if from == 0 || from < f.floor {
		message, err = json.Marshal(f.whole())
	} else {
		message, err = json.Marshal(f.since(from))
	}
	if err == nil {
		f.frames[from] = message
	}
	return message, f.seq, f.changed, err
}

// frame is what every message has.
func (f *feed) frame() map[string]any {
	return map[string]any{"board": f.name, "seq": f.seq, "at": f.about.now().UTC(), "today": f.about.today}
}

// whole is the board as a page gets it first.
func (f *feed) whole() map[string]any {
	m := f.frame()
	m["whole"], m["zone"], m["pace"] = true, f.about.zone, f.about.pace
	rows := make(map[string]any, len(f.rows))
	for key, r := range f.rows {
		if !r.gone {
			rows[key] = r.val
		}
	}
	m["rows"] = rows
	for key, v := range f.head {
		m[key] = v.val
	}
	return m
}

// since is what became of the board since an earlier sequence.
func (f *feed) since(from uint64) map[string]any {
	m := f.frame()
	set, gone := map[string]any{}, []string{}
	for key, r := range f.rows {
		switch {
		case r.seq <= from:
		case r.gone:
			gone = append(gone, key)
		default:
			set[key] = r.val
		}
	}
	m["set"], m["gone"] = set, gone
	for key, v := range f.head {
		if v.seq > from {
			m[key] = v.val
		}
	}
	return m
}

// beat is a change with nothing in it but the time.
func (f *feed) beat() ([]byte, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	m := f.frame()
	m["set"], m["gone"] = map[string]any{}, []string{}
	return json.Marshal(m)
}

// snapshot is the whole board now.
func (f *feed) snapshot() map[string]any {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.whole()
}

// close tells every socket to go.
func (f *feed) close() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if !f.closed {
		f.closed = true
		close(f.changed)
		f.changed = make(chan struct{})
	}
}
