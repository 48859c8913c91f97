package store

import (
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// facts of a batch lie in the ledger as one row of varints: one function gives
// the order of the fields for writing and reading alike. Times are whole
// milliseconds, counted from the release; durations whole milliseconds.

// root carries the card of a family's first batch, most often the batch's own.
func (s *rowCodec) root(b *story.BatchFact) {
	same := b.Root == b.Card
	s.flags(&same)
	if same {
		b.Root = b.Card
		return
	}
	own(s, &b.Root)
}

func (s *rowCodec) lasted(d *time.Duration) {
	ms := d.Milliseconds()
	integer(s, &ms)
	if s.reading {
		*d = time.Duration(ms) * time.Millisecond
	}
}

// moment carries a time; zero stays zero.
func (s *rowCodec) moment(t *time.Time) {
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
func (s *rowCodec) metres(m *float64) {
	cm := int64(math.Round(*m * 100))
	integer(s, &cm)
	if s.reading {
		*m = float64(cm) / 100
	}
}

func (s *rowCodec) flags(flags ...*bool) {
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

func (s *rowCodec) id(id *traveler.ScanID) {
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
	*id = NameID(s.b[:16])
	s.b = s.b[16:]
}

func (s *rowCodec) parts(p *story.Parts) {
	integers(s, time.Millisecond, &p.Run, &p.Setup, &p.FirstOff, &p.Stop, &p.Outside, &p.Transport, &p.Queue,
		&p.Between)
}

func (s *rowCodec) batch(b *story.BatchFact) {
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
		&b.Priority, &b.Started, &b.Wanted, &b.Good, &b.Scrap, &b.Missing, &b.Concession, &b.Rework,
		&b.Review,
		&b.Delivered, &b.Stock, &b.Inferred, &b.Asked, &b.As.Pieces, &b.As.Wanted, &b.As.Priority,
		&b.ReworkOpen, &b.ToDo, &b.JoinedIn, &b.SplitOff, &b.Over,
	)
	list(s, &b.Deliveries, func(s *rowCodec, d *story.Delivery) {
		integer(s, &d.Pieces)
		s.moment(&d.At)
		own(s, &d.Note)
	})
	if s.skips(story.FactTrip) {
		s.passList(3, 3)
	} else {
		list(s, &b.Trip, (*rowCodec).trip)
	}
	s.parts(&b.Parts)
	s.metres(&b.Metres)
	s.flags(&b.Rectangular, &b.Imported, &b.Hot, &b.As.Hot, &b.Measured)
	if s.skips(story.FactOps) && s.skips(story.FactVisits) {
		return
	}
	list(s, &b.Ops, (*rowCodec).op)
	if !s.skips(story.FactVisits) {
		list(s, &b.Visits, (*rowCodec).visit)
	}
}

func (s *rowCodec) trip(t *story.TripFact) {
	text(s, &t.From)
	text(s, &t.To)
	text(s, &t.Leg)
	s.moment(&t.At)
	s.metres(&t.Metres)
	integer(s, &t.For)
}

func (s *rowCodec) op(o *story.OpFact) {
	integer(s, &o.Operation)
	text(s, &o.WorkCentre)
	integers(s, time.Millisecond, &o.PlanSetup, &o.PlanPiece, &o.Setup, &o.Run)
	integers(s, 1,
		&o.Clampings, &o.In, &o.Presented, &o.FirstGood, &o.Undecided, &o.Good, &o.Scrap, &o.Rework,
		&o.Missing,
		&o.Concession, &o.Assumed, &o.Made, &o.Setups, &o.Machines,
	)
	s.flags(&o.Outside, &o.FirstOff, &o.Closed, &o.Inferred)
}

func (s *rowCodec) visit(v *story.VisitFact) {
	if s.skips(story.FactIDs) {
		s.passBytes(len(hexPairs))
	} else {
		s.id(&v.Visit)
	}
	integer(s, &v.Operation)
	integer(s, &v.ReworkFor)
	text(s, &v.Machine)
	if s.skips(story.FactIDs) {
		s.raw()
		s.pass(1)
	} else {
		text(s, &v.CameFrom)
		s.metres(&v.Metres)
	}
	s.moment(&v.Arrived)
	if s.skips(story.FactSpent) && s.skips(story.FactBusy) {
		s.pass(2)
	} else {
		s.moment(&v.Begun)
		s.moment(&v.Ended)
	}
	if s.skips(story.FactSpent) {
		s.pass(spentNumbers)
	} else {
		s.spent(v)
	}
	if s.skips(story.FactLosses) {
		s.passList(2, 4)
		s.passList(1, 2)
	} else {
		list(s, &v.Losses, (*rowCodec).loss)
		list(s, &v.Stops, (*rowCodec).stop)
	}
	if s.skips(story.FactBusy) {
		s.passList(0, 3)
	} else {
		s.busy(v)
	}
	s.flags(&v.NoArrival, &v.NoStart, &v.NoFinish, &v.NoCount, &v.Uncertain, &v.LeftOn)
}

// spentNumbers is how many whole numbers spent carries.
const spentNumbers = 19

// spent carries where a visit's time went, and its pieces.
func (s *rowCodec) spent(v *story.VisitFact) {
	s.parts(&v.Parts)
	s.lasted(&v.Waited)
	s.lasted(&v.Closed)
	s.lasted(&v.Shut)
	integers(s, 1, &v.Good, &v.Scrap, &v.Rework, &v.Review, &v.Missing, &v.Aside, &v.Conceded, &v.SetupN)
}

func (s *rowCodec) loss(l *story.LossFact) {
	text(s, &l.Outcome)
	text(s, &l.Reason)
	integer(s, &l.N)
	integer(s, &l.FoundAt)
	integer(s, &l.Caused)
	s.moment(&l.Decided)
}

func (s *rowCodec) stop(x *story.StopFact) {
	text(s, &x.Reason)
	s.lasted(&x.Lasted)
	s.lasted(&x.Open)
}

// kinds of busy stretches, by the number that stands for them.
var busyKinds = []story.SpanKind{story.SpanRun, story.SpanSetup, story.SpanFirstOff, story.SpanStop}

// busy carries the busy stretches: each from the end of the one before it.
func (s *rowCodec) busy(v *story.VisitFact) {
	last := v.Begun
	if last.IsZero() {
		last = fromMS(s.base)
	}
	list(s, &v.Busy, func(s *rowCodec, x *story.BusyFact) {
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

// PackFacts writes the row of a batch, for LedgerFacts. It fails where a text or an id
// has no form there.
func PackFacts(b *story.BatchFact) ([]byte, error) {
	s := &rowCodec{b: make([]byte, 0, 256+100*len(b.Visits))}
	s.batch(b)
	return s.b, s.err
}

// FactReader reads rows. It shares texts between them, and lists where they are
// lent.
type FactReader struct {
	rowCodec
	fact story.BatchFact // the one that is lent
}

// NewFactReader makes one that leaves parts out.
func NewFactReader(without story.FactParts, lent bool) *FactReader {
	return &FactReader{
		rowCodec: rowCodec{reading: true, words: map[string]string{}, without: without, lent: lent}}
}

// Read reads a row. It fails where the row is damaged or of another form.
func (u *FactReader) Read(row []byte) (*story.BatchFact, error) {
	b := &u.fact
	if !u.lent {
		b = &story.BatchFact{}
	}
	u.b, u.err = row, nil
	u.batch(b)
	return b, u.err
}
