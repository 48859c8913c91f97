package floor

import (
	"encoding/json"
	"strconv"
	"sync"
	"time"
	"unicode/utf8"
)

// jsonOut writes the answers to scans, which are many and of few kinds, without
// reflection. Members follow each other; commas are its own care.
type jsonOut struct{ b []byte }

var jsonOuts = sync.Pool{New: func() any { return &jsonOut{make([]byte, 0, 4<<10)} }}

func newJSONOut() *jsonOut {
	o, _ := jsonOuts.Get().(*jsonOut)
	o.b = o.b[:0]
	return o
}

// jsonKept is the largest that is kept for the next answer.
const jsonKept = 64 << 10

func (o *jsonOut) free() {
	if cap(o.b) <= jsonKept {
		jsonOuts.Put(o)
	}
}

// open begins an object or a list, as the value of a key where it has one.
func (o *jsonOut) open(key string, bracket byte) {
	o.key(key)
	o.b = append(o.b, bracket)
}

func (o *jsonOut) close(bracket byte) { o.b = append(o.b, bracket) }

// key begins a member of an object, or with no key an element of a list.
func (o *jsonOut) key(key string) {
	if n := len(o.b); n > 0 && o.b[n-1] != '{' && o.b[n-1] != '[' && o.b[n-1] != ':' {
		o.b = append(o.b, ',')
	}
	if key != "" {
		o.b = append(o.b, '"')
		o.b = append(append(o.b, key...), '"', ':')
	}
}

func (o *jsonOut) text(key, v string) {
	o.key(key)
	for i := range len(v) {
		if c := v[i]; c < ' ' || c == '"' || c == '\\' || c >= utf8.RuneSelf {
			b, _ := json.Marshal(v) // a string always can be
			o.b = append(o.b, b...)
			return
		}
	}
	o.b = append(o.b, '"')
	o.b = append(append(o.b, v...), '"')
}

// some writes a text unless it is empty.
func (o *jsonOut) some(key, v string) {
	if v != "" {
		o.text(key, v)
	}
}

func (o *jsonOut) number(key string, v int) {
	o.key(key)
	o.b = strconv.AppendInt(o.b, int64(v), 10)
}

func (o *jsonOut) float(key string, v float64) {
	o.key(key)
	o.b = strconv.AppendFloat(o.b, v, 'f', -1, 64)
}

func (o *jsonOut) flag(key string, v bool) {
	o.key(key)
	o.b = strconv.AppendBool(o.b, v)
}

// moment writes a time; null for none.
func (o *jsonOut) moment(key string, t time.Time) {
	if t.IsZero() {
		o.raw(key, []byte("null"))
		return
	}
	o.key(key)
	o.b = append(o.b, '"')
	o.b = append(t.AppendFormat(o.b, time.RFC3339Nano), '"')
}

// raw writes what is JSON already.
func (o *jsonOut) raw(key string, v []byte) {
	o.key(key)
	o.b = append(o.b, v...)
}
