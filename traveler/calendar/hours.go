package calendar

import (
	"iter"
	"slices"
	"sort"
	"sync/atomic"
	"time"
)

// Hours is a calendar worked out. A nil *Hours is always open. It never changes
// and may be used by many at once. It keeps what it worked out, so keep it, the
// union of several above all, rather than make it again for each question.
type Hours struct {
	rules  *rules   // nil for a union
	parts  []*Hours // of a union
	chunks [chunkCount]atomic.Pointer[chunk]
}

// Span is the time from one moment up to, and without, another.
type Span struct{ From, To time.Time }

// New works a calendar out. The error is a *Fault that says what in it makes no
// sense. The calendar's name is not looked at.
func New(c Calendar) (*Hours, error) {
	r, f := readRules(&c)
	if f != nil {
		return nil, f
	}
	return &Hours{rules: r}, nil
}

// Union is open when any of several is. With nil among them, or with none at
// all, it is nil, which is always open.
func Union(hs ...*Hours) *Hours {
	var parts []*Hours
	for _, h := range hs {
		if h == nil {
			return nil
		}
		if !slices.Contains(parts, h) {
			parts = append(parts, h)
		}
	}
	switch len(parts) {
	case 0:
		return nil
	case 1:
		return parts[0]
	}
	return &Hours{parts: parts}
}

// Open is the open time between two moments; 0 if to is not after from. It
// takes the same time for a minute and for ten years.
func (h *Hours) Open(from, to time.Time) time.Duration {
	if !from.Before(to) {
		return 0
	}
	if h == nil {
		return to.Sub(from)
	}
	i, a := place(from)
	j, b := place(to)
	open := h.chunk(j).before(b) - h.chunk(i).before(a)
	for ; i < j; i++ {
		open += h.chunk(i).total
	}
	return open
}

// After is the moment by which d of open time has passed since t: the earliest
// u with Open(t, u) = d, and t itself where d is not positive. It is false when
// so much open time does not come before the year 2200.
func (h *Hours) After(t time.Time, d time.Duration) (time.Time, bool) {
	if d <= 0 {
		return t, true
	}
	if h == nil {
		return t.Add(d), true
	}
	if d > known*time.Second {
		return time.Time{}, false
	}
	i, into := place(t)
	d += h.chunk(i).before(into)
	for ; i < chunkCount; i++ {
		c := h.chunk(i)
		if d <= c.total {
			return time.Unix(int64(i)<<chunkBits, 0).UTC().Add(c.reach(d)), true
		}
		d -= c.total
	}
	return time.Time{}, false
}

// stretches are the open times from the one that a moment lies in, or the next
// after it, on, up to those that begin after another moment. All in Unix
// seconds. The last may be cut, but not before to.
func (h *Hours) stretches(from, to int64) iter.Seq2[int64, int64] {
	return func(yield func(from, to int64) bool) {
		var a, b int64 // found, but may go on in the next chunk
		for i := max(from, 0) >> chunkBits; i < chunkCount && i<<chunkBits <= to; i++ {
			open, start := h.chunk(int(i)).open, i<<chunkBits
			k := sort.Search(len(open), func(k int) bool { return start+int64(open[k].to) > from })
			for _, s := range open[k:] {
				if a < b && b == start+int64(s.from) {
					b = start + int64(s.to)
					continue
				}
				if a < b && !yield(a, b) {
					return
				}
				a, b = start+int64(s.from), start+int64(s.to)
				if a > to {
					return
				}
			}
		}
		if a < b {
			yield(a, b)
		}
	}
}

// Spans lists the open stretches between two moments, in order and in UTC. None
// touches the next; the first and the last are cut at the moments.
func (h *Hours) Spans(from, to time.Time) []Span {
	if !from.Before(to) {
		return nil
	}
	from, to = from.UTC(), to.UTC()
	if h == nil {
		return []Span{{from, to}}
	}
	var out []Span
	for a, b := range h.stretches(from.Unix(), to.Unix()) {
		s := Span{time.Unix(a, 0).UTC(), time.Unix(b, 0).UTC()}
		if s.From.Before(from) {
			s.From = from
		}
		if s.To.After(to) {
			s.To = to
		}
		if s.From.Before(s.To) {
			out = append(out, s)
		}
	}
	return out
}

// Closed lists what Spans leaves out between two moments.
func (h *Hours) Closed(from, to time.Time) []Span {
	if !from.Before(to) {
		return nil
	}
	var out []Span
	at := from.UTC()
	for _, s := range append(h.Spans(from, to), Span{From: to.UTC()}) {
		if at.Before(s.From) {
			out = append(out, Span{at, s.From})
		}
		at = s.To
	}
	return out
}
