package live

import (
	"cmp"
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"tallywalk/traveler/board"
)

// feed is one live board: rows by their keys, and a head of what stands beside
// them. Each change gives it the next sequence; a socket pulls what it has not
// seen, so that a slow screen skips frames.
type feed struct {
	name string

	mu      sync.Mutex
	seq     uint64
	rows    map[string]stamped
	log     []mark // which rows changed, in order
	head    map[string]stamped
	goneN   int
	floor   uint64 // a socket older than this gets the whole
	changed chan struct{}
	closed  bool
	frames  map[since]*frame // messages from a sequence to now
	first   map[bool]begun   // the whole board, as walls get it or not
	about   about
}

// since is from where a message goes on, and whether a wall screen gets it.
type since struct {
	seq  uint64
	wall bool
}

// begun is a whole board as it was with a sequence.
type begun struct {
	*frame
	seq uint64
}

// shown is a row as it is sent. A wall screen hangs where visitors stand, and everybody
// can copy its link: whom a batch is for is not on it.
func shown(row any, wall bool) any {
	if r, ok := row.(board.Row); ok && wall {
		r.Customer = ""
		return r
	}
	return row
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

// mark says that a row changed with a sequence. It holds while the row's own
// sequence is the same.
type mark struct {
	seq uint64
	key string
}

// edit is what becomes of a board: rows by their keys, keys of those that go,
// and parts of the head.
type edit struct {
	set  map[string]any
	gone []string
	head map[string]any
}

func newEdit() *edit { return &edit{set: map[string]any{}, head: map[string]any{}} }

// linePrefix begins the keys of the parts of a head that are said together, as lines,
// each by what follows: a change says those that changed.
const linePrefix = "lines/"

const goneKept = 2000 // removed rows remembered for sockets that lag

func newFeed(name string, a about) *feed {
	return &feed{
		name: name, rows: map[string]stamped{}, head: map[string]stamped{}, changed: make(chan struct{}),
		frames: map[since]*frame{}, first: map[bool]begun{}, about: a,
	}
}

// publish makes the rows of an edit the whole board: others go. When again is
// set every socket gets the whole: for what is too much for a change.
func (f *feed) publish(today string, e *edit, again bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for key, r := range f.rows {
		if _, stays := e.set[key]; !stays && !r.gone {
			e.gone = append(e.gone, key)
		}
	}
	moved := f.stamp(e)
	if today != f.about.today {
		f.about.today, moved = today, true
	}
	f.advance(moved, again)
}

// change takes an edit of a few rows.
func (f *feed) change(e *edit) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.advance(f.stamp(e), false)
}

// advance goes on to the next sequence, if something moved, and signals.
func (f *feed) advance(moved, again bool) {
	if !moved && !again {
		return
	}
	f.seq++
	if again {
		f.floor = f.seq
	}
	f.forget()
	clear(f.frames)
	close(f.changed)
	f.changed = make(chan struct{})
}

// stamp puts what differs on the board, with the next sequence.
func (f *feed) stamp(e *edit) (moved bool) {
	next := f.seq + 1
	for _, key := range e.gone {
		_, stays := e.set[key]
		if old, ok := f.rows[key]; ok && !old.gone && !stays {
			f.rows[key] = stamped{seq: next, gone: true}
			f.log = append(f.log, mark{next, key})
			f.goneN++
			moved = true
		}
	}
	for key, v := range e.set {
		old, ok := f.rows[key]
		if ok && !old.gone && old.val == v {
			continue
		}
		if old.gone {
			f.goneN--
		}
		f.rows[key] = stamped{val: v, seq: next}
		f.log = append(f.log, mark{next, key})
		moved = true
	}
	for key, v := range e.head {
		if old, ok := f.head[key]; !ok || !reflect.DeepEqual(old.val, v) {
			f.head[key] = stamped{val: v, seq: next}
			moved = true
		}
	}
	return moved
}

// forget drops marks that hold no more, and removed rows, once there are many;
// sockets that are older than what was dropped get the whole board.
func (f *feed) forget() {
	if f.goneN >= goneKept {
		maps.DeleteFunc(f.rows, func(_ string, r stamped) bool { return r.gone })
		f.goneN, f.floor = 0, f.seq
	}
	if len(f.log) > 2*len(f.rows)+goneKept {
		f.log = slices.DeleteFunc(f.log, func(m mark) bool { return f.rows[m.key].seq != m.seq })
	}
}

// frame is a message as sockets send it: encoded, and deflated where it is
// long, once for all of them.
type frame struct {
	message []byte
	ready   *websocket.PreparedMessage
}

func newFrame(v any) (*frame, error) {
	message, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	ready, err := websocket.NewPreparedMessage(websocket.TextMessage, message)
	return &frame{message, ready}, err
}

// next gives the message that brings a socket from a sequence up to now, the
// sequence it is then at, and the channel to wait on. A nil message means that
// there is nothing new; a nil channel that the server closes.
func (f *feed) next(from uint64, wall bool) (message *frame, seq uint64, wait <-chan struct{}, err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.closed {
		return nil, from, nil, nil
	}
	if from == f.seq && from != 0 {
		return nil, from, f.changed, nil
	}
	if m, ok := f.frames[since{from, wall}]; ok {
		return m, f.seq, f.changed, nil
	}
	if from == 0 || from < f.floor {
		return f.begin(wall)
	}
	if message, err = newFrame(f.changes(from, wall)); err == nil {
		f.frames[since{from, wall}] = message
	}
	return message, f.seq, f.changed, err
}

// firstFor is for how many changes a whole board is good enough to begin with:
// it is long, and what changed since comes right after it.
const firstFor = 50

// begin gives the whole board, as it was a short while ago.
func (f *feed) begin(wall bool) (*frame, uint64, <-chan struct{}, error) {
	first := f.first[wall]
	if first.frame == nil || first.seq < f.floor || f.seq-first.seq > firstFor {
		message, err := newFrame(f.whole(wall))
		if err != nil {
			return nil, 0, f.changed, err
		}
		first = begun{message, f.seq}
		f.first[wall] = first
	}
	return first.frame, first.seq, f.changed, nil
}

// every is what every message has.
func (f *feed) every() map[string]any {
	return map[string]any{"board": f.name, "seq": f.seq, "at": f.about.now().UTC(), "today": f.about.today}
}

// whole is the board as a page gets it first.
func (f *feed) whole(wall bool) map[string]any {
	m := f.every()
	m["whole"], m["zone"], m["pace"] = true, f.about.zone, f.about.pace
	rows := make(map[string]any, len(f.rows))
	for key, r := range f.rows {
		if !r.gone {
			rows[key] = shown(r.val, wall)
		}
	}
	m["rows"] = rows
	f.say(m, 0)
	return m
}

// say adds what the head has since a sequence. What is no more is null in a change.
func (f *feed) say(m map[string]any, from uint64) {
	lines := map[string]any{}
	for key, v := range f.head {
		name, isLine := strings.CutPrefix(key, linePrefix)
		switch {
		case v.seq <= from || v.val == nil && from == 0:
		case isLine:
			lines[name] = v.val
		default:
			m[key] = v.val
		}
	}
	if whole := from == 0 && f.name == boardWaits; whole || len(lines) > 0 {
		m["lines"] = lines
	}
}

// changes are what became of the board since an earlier sequence.
func (f *feed) changes(from uint64, wall bool) map[string]any {
	m := f.every()
	set, gone := map[string]any{}, []string{}
	i, _ := slices.BinarySearchFunc(
		f.log, from+1, func(m mark, seq uint64) int { return cmp.Compare(m.seq, seq) },
	)
	for _, m := range f.log[i:] {
		switch r := f.rows[m.key]; {
		case r.seq != m.seq: // it changed once more
		case r.gone:
			gone = append(gone, m.key)
		default:
			set[m.key] = shown(r.val, wall)
		}
	}
	m["set"], m["gone"] = set, gone
	f.say(m, from)
	return m
}

// beat is a change with nothing in it but the time.
func (f *feed) beat() (*frame, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	m := f.every()
	m["set"], m["gone"] = map[string]any{}, []string{}
	return newFrame(m)
}

// snapshot is the whole board now.
func (f *feed) snapshot(wall bool) map[string]any {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.whole(wall)
}

// close asks every socket to go.
func (f *feed) close() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if !f.closed {
		f.closed = true
		close(f.changed)
		f.changed = make(chan struct{})
	}
}
