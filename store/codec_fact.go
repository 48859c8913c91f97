package store

import (
	"encoding/binary"
	"errors"
	"slices"
	"time"

	"tallywalk/traveler"
)

// facts of a batch lie in the ledger as one row of varints: one function tells
// the order of the fields for writing and reading alike. Times are whole
// milliseconds, counted from the release; durations whole milliseconds.

// errShort is a row that ends too early.
var errShort = errors.New("the row is cut short")

// shuttle carries fields to a row, or back from it.
type shuttle struct {
	b       []byte
	reading bool
	err     error
	base    int64             // of times, unix milliseconds
	words   map[string]string // texts seen, so that reading many rows does not make each anew
}

// integer carries a whole number.
func integer[T ~int | ~int64](s *shuttle, v *T) {
	if !s.reading {
		s.b = binary.AppendVarint(s.b, int64(*v))
		return
	}
	if len(s.b) > 0 && s.b[0] < 0x80 { // most are small
		n := int64(s.b[0]>>1) ^ -int64(s.b[0]&1)
		s.b = s.b[1:]
		*v = T(n)
		return
	}
	n, size := binary.Varint(s.b)
	if size <= 0 {
		s.b, s.err = nil, errShort
		*v = 0
		return
	}
	s.b = s.b[size:]
	*v = T(n)
}

// text carries a text that comes again in other rows; own one that does not.
func text[T ~string](s *shuttle, v *T) {
	raw := carry(s, v)
	if len(raw) == 0 {
		return
	}
	w, ok := s.words[string(raw)]
	if !ok {
		w = string(raw)
		s.words[w] = w
	}
	*v = T(w)
}

func own[T ~string](s *shuttle, v *T) {
	if raw := carry(s, v); len(raw) > 0 {
		*v = T(raw)
	}
}

// carry writes a text, or gives the bytes of one that is to be read.
func carry[T ~string](s *shuttle, v *T) (raw []byte) {
	n := len(*v)
	integer(s, &n)
	if !s.reading {
		s.b = append(s.b, *v...)
		return nil
	}
	*v = ""
	if n < 0 || n > len(s.b) {
		s.b, s.err = nil, errShort
		return nil
	}
	raw, s.b = s.b[:n], s.b[n:]
	return raw
}

// root carries the card of a family's first batch, most often the batch's own.
func (s *shuttle) root(b *traveler.BatchFact) {
	same := b.Root == b.Card
	s.flags(&same)
	if same {
		b.Root = b.Card
		return
	}
	own(s, &b.Root)
}

// list carries a list; each carries one of it.
func list[T any](s *shuttle, v *[]T, each func(*shuttle, *T)) {
	n := len(*v)
	integer(s, &n)
	if s.reading {
		if n < 0 || n > len(s.b) { // each item takes a byte at least
			s.b, s.err = nil, errShort
			n = 0
		}
		*v = nil
		if n > 0 {
			*v = make([]T, n)
		}
	}
	for i := range *v {
		each(s, &(*v)[i])
	}
}

func (s *shuttle) lasted(d *time.Duration) {
	ms := d.Milliseconds()
	integer(s, &ms)
	if s.reading {
		*d = time.Duration(ms) * time.Millisecond
	}
}

// moment carries a time; zero stays zero.
func (s *shuttle) moment(t *time.Time) {
	var ms int64
	if !s.reading && !t.IsZero() {
		ms = t.UnixMilli() - s.base
		if ms >= 0 {
			ms++ // zero stands for none
		}
	}
	integer(s, &ms)
	if !s.reading {
		return
	}
	switch {
	case ms == 0:
		*t = time.Time{}
	case ms > 0:
		*t = fromMS(s.base + ms - 1)
	default:
		*t = fromMS(s.base + ms)
	}
}

// metres carries a length in whole centimetres.
func (s *shuttle) metres(m *float64) {
	cm := int64(*m*100 + 0.5)
	integer(s, &cm)
	if s.reading {
		*m = float64(cm) / 100
	}
}

func (s *shuttle) flags(flags ...*bool) {
	n := 0
	for i, f := range flags {
		if *f {
			n |= 1 << i
		}
	}
	integer(s, &n)
	if s.reading {
		for i, f := range flags {
			*f = n&(1<<i) != 0
		}
	}
}

func (s *shuttle) id(id *traveler.ScanID) {
	if !s.reading {
		raw, err := rawID(*id)
		if err != nil {
			s.err = err
		}
		s.b = append(s.b, raw[:]...)
		return
	}
	if len(s.b) < 16 {
		s.b, s.err = nil, errShort
		return
	}
	*id = nameID(s.b[:16])
	s.b = s.b[16:]
}

func (s *shuttle) parts(p *traveler.Parts) {
	for _, d := range []*time.Duration{&p.Run, &p.Setup, &p.FirstOff, &p.Stop, &p.Outside, &p.Transport, &p.Queue, &p.Between} {
		s.lasted(d)
	}
}

func (s *shuttle) batch(b *traveler.BatchFact, bare bool) {
	ms := b.Released.UnixMilli()
	integer(s, &ms)
	s.base = ms
	if s.reading {
		b.Released = fromMS(ms)
	}
	own(s, &b.Card)
	s.root(b)
	own(s, &b.Parent)
	own(s, &b.Joined)
	text(s, &b.Part)
	text(s, &b.Rev)
	text(s, &b.Drawing)
	text(s, &b.Name)
	own(s, &b.Order)
	text(s, &b.Line)
	text(s, &b.Customer)
	list(s, &b.Lots, own[string])
	text(s, &b.State)
	for _, t := range []*time.Time{&b.Due, &b.Begun, &b.Ended, &b.As.Due} {
		s.moment(t)
	}
	for _, n := range []*int{
		&b.Priority, &b.Started, &b.Wanted, &b.Good, &b.Scrap, &b.Missing, &b.Concession, &b.Rework, &b.Review,
		&b.Delivered, &b.Stock, &b.Inferred, &b.Asked, &b.As.Pieces, &b.As.Wanted, &b.As.Priority,
	} {
		integer(s, n)
	}
	list(s, &b.Deliveries, func(s *shuttle, d *traveler.Delivery) {
		integer(s, &d.Pieces)
		s.moment(&d.At)
		own(s, &d.Note)
	})
	list(s, &b.Trip, func(s *shuttle, t *traveler.TripFact) {
		text(s, &t.From)
		text(s, &t.To)
		s.moment(&t.At)
	})
	s.parts(&b.Parts)
	s.metres(&b.Metres)
	s.flags(&b.Rectangular, &b.Imported)
	list(s, &b.Ops, (*shuttle).op)
	if !s.reading || !bare {
		list(s, &b.Visits, (*shuttle).visit)
	}
}

func (s *shuttle) op(o *traveler.OpFact) {
	integer(s, &o.Operation)
	text(s, &o.WorkCentre)
	for _, d := range []*time.Duration{&o.PlanSetup, &o.PlanPiece, &o.Setup, &o.Run} {
		s.lasted(d)
	}
	for _, n := range []*int{
		&o.Clampings, &o.In, &o.Presented, &o.FirstGood, &o.Undecided, &o.Good, &o.Scrap, &o.Rework, &o.Missing,
		&o.Concession, &o.Assumed, &o.Made, &o.Setups, &o.Machines,
	} {
		integer(s, n)
	}
	s.flags(&o.Outside, &o.FirstOff, &o.Closed, &o.Inferred)
}

func (s *shuttle) visit(v *traveler.VisitFact) {
	s.id(&v.Visit)
	integer(s, &v.Operation)
	integer(s, &v.ReworkFor)
	text(s, &v.Machine)
	text(s, &v.CameFrom)
	s.metres(&v.Metres)
	for _, t := range []*time.Time{&v.Arrived, &v.Begun, &v.Ended} {
		s.moment(t)
	}
	s.parts(&v.Parts)
	s.lasted(&v.Waited)
	s.lasted(&v.Closed)
	s.lasted(&v.Shut)
	for _, n := range []*int{&v.Good, &v.Scrap, &v.Rework, &v.Review, &v.Missing, &v.SetupN} {
		integer(s, n)
	}
	list(s, &v.Losses, func(s *shuttle, l *traveler.LossFact) {
		text(s, &l.Outcome)
		text(s, &l.Reason)
		integer(s, &l.N)
		integer(s, &l.FoundAt)
		integer(s, &l.Caused)
	})
	list(s, &v.Stops, func(s *shuttle, x *traveler.StopFact) {
		text(s, &x.Reason)
		s.lasted(&x.Lasted)
		s.lasted(&x.Open)
	})
	s.busy(v)
	s.flags(&v.NoArrival, &v.NoStart, &v.NoFinish, &v.NoCount, &v.Uncertain, &v.LeftOn)
}

// kinds of busy stretches, by the number that stands for them.
var busyKinds = []traveler.SpanKind{traveler.SpanRun, traveler.SpanSetup, traveler.SpanFirstOff, traveler.SpanStop}

// busy carries the busy stretches: each from the end of the one before it.
func (s *shuttle) busy(v *traveler.VisitFact) {
	last := v.Begun
	if last.IsZero() {
		last = fromMS(s.base)
	}
	list(s, &v.Busy, func(s *shuttle, x *traveler.BusyFact) {
		kind, gap, long := slices.Index(busyKinds, x.Kind), x.From.Sub(last), x.To.Sub(x.From)
		integer(s, &kind)
		s.lasted(&gap)
		s.lasted(&long)
		if s.reading {
			if kind < 0 || kind >= len(busyKinds) {
				s.err = errShort
				return
			}
			x.Kind, x.From = busyKinds[kind], last.Add(gap)
			x.To = x.From.Add(long)
		}
		last = x.To
	})
}

// packFacts writes the row of a batch.
func packFacts(b *traveler.BatchFact) ([]byte, error) {
	s := &shuttle{b: make([]byte, 0, 256+100*len(b.Visits))}
	s.batch(b, false)
	return s.b, s.err
}

// unpackFacts reads a row; words are shared between the rows of one reading.
// Bare leaves the visits out.
func unpackFacts(b *traveler.BatchFact, row []byte, bare bool, words map[string]string) error {
	s := &shuttle{b: row, reading: true, words: words}
	s.batch(b, bare)
	return s.err
}
