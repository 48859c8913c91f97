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
	base    int64              // of times, unix milliseconds
	words   map[string]string  // texts seen, so that reading many rows does not make each anew
	near    [256]string        // some of them, by what they are made of
	without traveler.FactParts // left out of what is read
	lent    bool               // lists are read into those that are there
}

// skips reports whether a part is to be left out, which whoever reads passes over.
func (s *shuttle) skips(part traveler.FactParts) bool { return s.reading && s.without&part != 0 }

// pass passes over whole numbers.
func (s *shuttle) pass(numbers int) {
	for i, c := range s.b {
		if c >= 0x80 {
			continue
		}
		if numbers--; numbers == 0 {
			s.b = s.b[i+1:]
			return
		}
	}
	if numbers > 0 {
		s.b, s.err = nil, errShort
	}
}

// passBytes passes over so many bytes.
func (s *shuttle) passBytes(n int) {
	if n < 0 || n > len(s.b) {
		s.b, s.err = nil, errShort
		return
	}
	s.b = s.b[n:]
}

// passList passes over a list of which each item is so many texts, then so many
// whole numbers.
func (s *shuttle) passList(texts, numbers int) {
	n := 0
	for integer(s, &n); n > 0 && s.err == nil; n-- {
		for range texts {
			s.raw()
		}
		s.pass(numbers)
	}
}

// integer carries a whole number.
func integer[T ~int | ~int64](s *shuttle, v *T) {
	if !s.reading {
		s.b = binary.AppendVarint(s.b, int64(*v))
		return
	}
	if n, size := small(s.b); size > 0 {
		s.b, *v = s.b[size:], T(n)
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

// small reads a number that takes one byte or two, as nearly all do. More must be
// read another way: then size is 0.
func small(b []byte) (n int64, size int) {
	switch {
	case len(b) > 0 && b[0] < 0x80:
		n, size = int64(b[0]), 1
	case len(b) > 1 && b[1] < 0x80:
		n, size = int64(b[0]&0x7f)|int64(b[1])<<7, 2
	}
	return n>>1 ^ -(n & 1), size
}

// integers carries several whole numbers; scale is what one of them stands for.
func integers[T ~int | ~int64](s *shuttle, scale T, list ...*T) {
	if !s.reading {
		for _, v := range list {
			s.b = binary.AppendVarint(s.b, int64(*v/scale))
		}
		return
	}
	b := s.b
	for _, v := range list {
		n, size := small(b)
		if size == 0 {
			if n, size = binary.Varint(b); size <= 0 {
				s.b, s.err = nil, errShort
				return
			}
		}
		b, *v = b[size:], T(n)*scale
	}
	s.b = b
}

// text carries a text that comes again in other rows; own one that does not.
func text[T ~string](s *shuttle, v *T) {
	if s.reading {
		*v = T(s.word(s.raw()))
		return
	}
	s.write(string(*v))
}

func own[T ~string](s *shuttle, v *T) {
	if s.reading {
		*v = T(s.raw())
		return
	}
	s.write(string(*v))
}

func (s *shuttle) write(text string) {
	s.b = append(binary.AppendVarint(s.b, int64(len(text))), text...)
}

// raw gives the bytes of a text that is to be read.
func (s *shuttle) raw() (raw []byte) {
	n, size := small(s.b)
	if size == 0 {
		n, size = binary.Varint(s.b)
	}
	if size <= 0 || n < 0 || n > int64(len(s.b)-size) {
		s.b, s.err = nil, errShort
		return nil
	}
	raw, s.b = s.b[size:size+int(n)], s.b[size+int(n):]
	return raw
}

// word is the text of some bytes: one that was seen before, if it was. The same
// few come again and again, and lie near.
func (s *shuttle) word(raw []byte) string {
	if len(raw) == 0 {
		return ""
	}
	near := &s.near[(len(raw)+3*int(raw[0])+5*int(raw[len(raw)/2])+11*int(raw[len(raw)-1]))%len(s.near)]
	if *near == string(raw) {
		return *near
	}
	w, ok := s.words[string(raw)]
	if !ok {
		w = string(raw)
		s.words[w] = w
	}
	*near = w
	return w
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
		switch {
		case s.lent && n <= cap(*v):
			*v = (*v)[:n]
		case n == 0:
			*v = nil
		default:
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
	integers(s, time.Millisecond, &p.Run, &p.Setup, &p.FirstOff, &p.Stop, &p.Outside, &p.Transport, &p.Queue, &p.Between)
}

func (s *shuttle) batch(b *traveler.BatchFact) {
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
	integers(s, 1,
		&b.Priority, &b.Started, &b.Wanted, &b.Good, &b.Scrap, &b.Missing, &b.Concession, &b.Rework, &b.Review,
		&b.Delivered, &b.Stock, &b.Inferred, &b.Asked, &b.As.Pieces, &b.As.Wanted, &b.As.Priority,
	)
	list(s, &b.Deliveries, func(s *shuttle, d *traveler.Delivery) {
		integer(s, &d.Pieces)
		s.moment(&d.At)
		own(s, &d.Note)
	})
	if s.skips(traveler.FactTrip) {
		s.passList(2, 1)
	} else {
		list(s, &b.Trip, (*shuttle).trip)
	}
	s.parts(&b.Parts)
	s.metres(&b.Metres)
	s.flags(&b.Rectangular, &b.Imported)
	if s.skips(traveler.FactOps) && s.skips(traveler.FactVisits) {
		return
	}
	list(s, &b.Ops, (*shuttle).op)
	if !s.skips(traveler.FactVisits) {
		list(s, &b.Visits, (*shuttle).visit)
	}
}

func (s *shuttle) trip(t *traveler.TripFact) {
	text(s, &t.From)
	text(s, &t.To)
	s.moment(&t.At)
}

func (s *shuttle) op(o *traveler.OpFact) {
	integer(s, &o.Operation)
	text(s, &o.WorkCentre)
	integers(s, time.Millisecond, &o.PlanSetup, &o.PlanPiece, &o.Setup, &o.Run)
	integers(s, 1,
		&o.Clampings, &o.In, &o.Presented, &o.FirstGood, &o.Undecided, &o.Good, &o.Scrap, &o.Rework, &o.Missing,
		&o.Concession, &o.Assumed, &o.Made, &o.Setups, &o.Machines,
	)
	s.flags(&o.Outside, &o.FirstOff, &o.Closed, &o.Inferred)
}

func (s *shuttle) visit(v *traveler.VisitFact) {
	if s.skips(traveler.FactIDs) {
		s.passBytes(len(hexPairs))
	} else {
		s.id(&v.Visit)
	}
	integer(s, &v.Operation)
	integer(s, &v.ReworkFor)
	text(s, &v.Machine)
	if s.skips(traveler.FactIDs) {
		s.raw()
		s.pass(1)
	} else {
		text(s, &v.CameFrom)
		s.metres(&v.Metres)
	}
	s.moment(&v.Arrived)
	if s.skips(traveler.FactSpent) && s.skips(traveler.FactBusy) {
		s.pass(2)
	} else {
		s.moment(&v.Begun)
		s.moment(&v.Ended)
	}
	if s.skips(traveler.FactSpent) {
		s.pass(spentNumbers)
	} else {
		s.spent(v)
	}
	if s.skips(traveler.FactLosses) {
		s.passList(2, 3)
		s.passList(1, 2)
	} else {
		list(s, &v.Losses, (*shuttle).loss)
		list(s, &v.Stops, (*shuttle).stop)
	}
	if s.skips(traveler.FactBusy) {
		s.passList(0, 3)
	} else {
		s.busy(v)
	}
	s.flags(&v.NoArrival, &v.NoStart, &v.NoFinish, &v.NoCount, &v.Uncertain, &v.LeftOn)
}

// spentNumbers is how many whole numbers spent carries.
const spentNumbers = 17

// spent carries where a visit's time went, and its pieces.
func (s *shuttle) spent(v *traveler.VisitFact) {
	s.parts(&v.Parts)
	s.lasted(&v.Waited)
	s.lasted(&v.Closed)
	s.lasted(&v.Shut)
	integers(s, 1, &v.Good, &v.Scrap, &v.Rework, &v.Review, &v.Missing, &v.SetupN)
}

func (s *shuttle) loss(l *traveler.LossFact) {
	text(s, &l.Outcome)
	text(s, &l.Reason)
	integer(s, &l.N)
	integer(s, &l.FoundAt)
	integer(s, &l.Caused)
}

func (s *shuttle) stop(x *traveler.StopFact) {
	text(s, &x.Reason)
	s.lasted(&x.Lasted)
	s.lasted(&x.Open)
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
	s.batch(b)
	return s.b, s.err
}

// unpacker reads rows. It shares texts between them, and lists where they are
// lent.
type unpacker struct {
	shuttle
	fact traveler.BatchFact // the one that is lent
}

// newUnpacker makes one that leaves parts out.
func newUnpacker(without traveler.FactParts, lent bool) *unpacker {
	return &unpacker{shuttle: shuttle{reading: true, words: map[string]string{}, without: without, lent: lent}}
}

// unpack reads a row.
func (u *unpacker) unpack(row []byte) (*traveler.BatchFact, error) {
	b := &u.fact
	if !u.lent {
		b = &traveler.BatchFact{}
	}
	u.b, u.err = row, nil
	u.batch(b)
	return b, u.err
}
