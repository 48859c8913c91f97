package stream

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store"
	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Tables are the rows outside the record of several servers: what one writes or removes
// lies in a key-value bucket of the engine and in each server's own file, from which it is
// read. Of two who write a row at once the later one stands. Local tables are each server's
// own.
type Tables struct {
	own    story.Tables
	log    *Log
	tail   *tail
	bucket string
	local  map[string]bool

	mu      sync.Mutex
	at      rowsMark
	changed chan struct{} // closed when more was taken in
	hooks   []func()
	fault   error
}

var _ story.Tables = (*Tables)(nil)

// rowsMark is how far a server's own file holds the bucket.
type rowsMark struct {
	Stream string `json:"stream"`
	Pos    uint64 `json:"pos"`
}

// Where a file keeps it, and what is never shared because of that.
const tableShared, keyRows = "shared", "rows"

// rowsTime is how long a row that was written may take to come back to the one who wrote
// it.
const rowsTime = 5 * time.Second

// Share opens the tables of the servers of a record over those of a server's own file, and
// reads what that lacks. What the file has and the bucket lacks is removed from the file,
// but for local tables. It fails with KindBusy when the engine does not answer, and with
// KindCorrupt when the bucket is empty or lacks its end, and the file has what was in it:
// accounts and names are not removed because a bucket was lost.
func Share(ctx context.Context, file *store.File, log *Log, local ...string) (*Tables, error) {
	bucket := fit.BucketName(log.opt.Stream)
	identity, last, err := log.link.streamIs(ctx, "KV_"+bucket)
	if err != nil {
		return nil, err
	}
	t := &Tables{own: file.Tables(), log: log, bucket: bucket, local: map[string]bool{tableShared: true},
		changed: make(chan struct{})}
	for _, name := range local {
		t.local[name] = true
	}
	was, err := t.own.Get(tableShared, keyRows)
	if err != nil {
		return nil, err
	}
	if was == nil || json.Unmarshal(was, &t.at) != nil || t.at.Stream != identity || t.at.Pos > last {
		if t.at.Pos > last && (last == 0 || t.at.Stream == identity) {
			return nil, traveler.Fail(traveler.KindCorrupt, "stream.short", "KV_"+bucket)
		}
		t.at = rowsMark{Stream: identity}
		if err := t.clear(file); err != nil {
			return nil, err
		}
	}
	t.tail = newTail(log.link, "KV_"+bucket, subjectOf(bucket, ">"), subjectOf(bucket, ">"))
	t.tail.next, t.tail.give = t.next, t.take
	for t.next() <= last {
		before := t.next()
		t.tail.fill()
		if err := errors.Join(t.fault, ctx.Err()); err != nil {
			return nil, err
		}
		if t.next() == before {
			return nil, apart(errGone)
		}
	}
	log.done.Add(1)
	go func() {
		defer log.done.Done()
		_ = t.tail.run(log.stop) // a connection that is closed for good
	}()
	return t, nil
}

// clear removes what is shared from a file, since it is of another bucket.
func (t *Tables) clear(file *store.File) error {
	names, err := file.TableNames()
	if err != nil {
		return err
	}
	for _, name := range names {
		if t.local[name] {
			continue
		}
		if err := file.DropTable(name); err != nil {
			return err
		}
	}
	return nil
}

func subjectOf(bucket, key string) string { return "$KV." + bucket + "." + key }

// rowKey is the key of a row in the bucket: its table, and what it is in base 64 for the
// sake of characters that a key may not have.
func rowKey(table, key string) string {
	return table + ".k" + base64.RawURLEncoding.EncodeToString([]byte(key))
}

// rowFits reports whether a server's own file takes a row of such a name: one that does not
// would hold up all after it.
func rowFits(table, key string) bool {
	return table != "" && !strings.ContainsAny(table, ". *>") && key != "" && len(key) < mostKey
}

// mostKey is how many bytes the key of a row may have.
const mostKey = 4096

func rowOf(subject, bucket string) (table, key string, ok bool) {
	table, key, ok = strings.Cut(strings.TrimPrefix(subject, subjectOf(bucket, "")), ".k")
	raw, err := base64.RawURLEncoding.DecodeString(key)
	return table, string(raw), ok && err == nil && rowFits(table, string(raw))
}

func (t *Tables) next() uint64 {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.at.Pos + 1
}

// take takes a row into this server's own file.
func (t *Tables) take(m message) bool {
	table, key, ok := rowOf(m.subject, t.bucket)
	var err error
	switch {
	case !ok || t.local[table]:
	case m.erased:
		err = t.own.Delete(table, key)
	default:
		err = t.own.Put(table, key, m.data)
	}
	t.mu.Lock()
	at := rowsMark{t.at.Stream, m.seq}
	t.mu.Unlock()
	data, jerr := json.Marshal(at)
	if err = errors.Join(err, jerr); err == nil {
		err = t.own.Put(tableShared, keyRows, data)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.fault = err; err != nil {
		return false // tried again
	}
	t.at = at
	close(t.changed)
	t.changed = make(chan struct{})
	if m.from == t.log.instance {
		return true
	}
	for _, hook := range t.hooks {
		go hook()
	}
	return true
}

// OnChange calls a function after each row that came from another server: what this one
// writes itself it knows, and who writes because something changed would never end.
func (t *Tables) OnChange(hook func()) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.hooks = append(t.hooks, hook)
}

// Put writes a row for all servers. It fails with KindBusy when the engine does not keep
// it, with KindTooLarge for a row that it does not take, with KindInvalid for one without a
// key.
func (t *Tables) Put(table, key string, value []byte) error {
	if t.local[table] {
		return t.own.Put(table, key, value)
	}
	return t.send(table, key, value, nats.Header{})
}

// Delete removes a row from all servers. It fails with KindBusy when the engine does not
// take that in.
func (t *Tables) Delete(table, key string) error {
	if t.local[table] {
		return t.own.Delete(table, key)
	}
	return t.send(table, key, nil, nats.Header{headOperation: {"DEL"}})
}

func (t *Tables) send(table, key string, value []byte, head nats.Header) error {
	if t.log.opt.Watch {
		return watches()
	}
	if !rowFits(table, key) {
		return traveler.Invalid("key", "form.missing")
	}
	if int64(len(value))+2*mostKey > t.log.link.nc.MaxPayload() {
		return traveler.Fail(traveler.KindTooLarge, "stream.large")
	}
	head.Set(headFrom, t.log.instance)
	seq, err := t.log.link.publish(subjectOf(t.bucket, rowKey(table, key)), head, value, -1)
	if err != nil {
		return apart(err)
	}
	t.tail.look()
	late := time.NewTimer(rowsTime)
	defer late.Stop()
	for {
		t.mu.Lock()
		at, changed := t.at.Pos, t.changed
		t.mu.Unlock()
		if at >= seq {
			return nil
		}
		select {
		case <-changed:
		case <-late.C:
			t.mu.Lock()
			defer t.mu.Unlock()
			return apart(errors.Join(errGone, t.fault)) // it is kept; this server will read it
		}
	}
}

// Get reads a row; see story.Tables. It fails as reading the file does.
func (t *Tables) Get(table, key string) ([]byte, error) { return t.own.Get(table, key) }

// Each reads a table; see story.Tables. It fails as reading the file does.
func (t *Tables) Each(table string, yield func(key string, value []byte) bool) error {
	return t.own.Each(table, yield)
}
