package kiosk

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// look is what Look knows while it works out a Station.
type look struct {
	shop    *traveler.Shop
	f       *story.Family
	b       *story.Batch
	batch   int
	machine traveler.Machine
	role    traveler.Role // of who asks
	now     time.Time
	ts      []story.Tally
	next    int          // place of the batch's next operation; len(ts) = none left
	k       int          // place of the operation meant here; -1 = none
	visit   int          // the visit that is open here; -1 = none
	v       *story.Visit // the same; nil = none
	left    int
	arrives bool // the people of this machine say when batches come
}

func newLook(
	shop *traveler.Shop, f *story.Family, batch int, machine traveler.MachineID, role traveler.Role,
	now time.Time,
) *look {
	l := &look{shop: shop, f: f, b: &f.Batches[batch], batch: batch, role: role, now: now,
		ts: f.Tallies(batch)}
	m, ok := shop.Machine(machine, now)
	if !ok {
		m = traveler.Machine{ID: machine, Name: string(machine)}
	}
	l.machine = m
	l.next = len(l.ts)
	if op := f.NextOp(batch); op != 0 {
		l.next = l.index(op)
	}
	op, visit, left := f.Spot(shop, batch, machine, now)
	l.k, l.visit, l.left = l.index(op), visit, left
	if visit >= 0 && !f.Visits[visit].PassedBy.IsZero() {
		l.leaveBehind()
	}
	if l.visit >= 0 {
		l.v = &f.Visits[l.visit]
	}
	return l
}

// leaveBehind looks for work that this machine has to do next, where the visit
// that is open here is one that the batch was seen to have left.
func (l *look) leaveBehind() {
	for k := l.k + 1; k < len(l.ts); k++ {
		if l.canWork(k) && !l.over(k) && l.unseen(k) == 0 {
			l.k, l.visit, l.left = k, -1, l.ts[k].Left()
			return
		}
	}
}

func (l *look) index(op traveler.Op) int {
	return slices.IndexFunc(l.b.Ops, func(o traveler.Operation) bool { return o.Number == op })
}

// first is the place of the first operation that is the batch's own: those
// before it were done under the card it was split from.
func (l *look) first() int {
	for i := range l.b.Ops {
		if l.b.Ops[i].Number >= l.b.First {
			return i
		}
	}
	return len(l.b.Ops)
}

// op is the operation meant here, or nil.
func (l *look) op() *traveler.Operation {
	if l.k < 0 {
		return nil
	}
	return &l.b.Ops[l.k]
}

func (l *look) canWork(k int) bool {
	return l.shop.CanWork(l.machine.ID, l.b.Ops[k].WorkCentre, l.now)
}

// over reports whether nothing is left to do at an operation.
func (l *look) over(k int) bool {
	t := &l.ts[k]
	return k < l.next || k < l.first() || (t.Seen && t.Closed)
}

// isPlace reports whether batches are kept or handled here rather than worked on.
func (l *look) isPlace() bool {
	switch l.machine.Kind {
	case "", "machine", "hand":
		return false
	}
	return true
}

// blocked says why no work may begin on the batch.
func (l *look) blocked() (kind string, why traveler.Msg) {
	b := l.b
	switch {
	case b.Joined != "":
		return "joined", sentence("batch.joined", string(b.Card), string(b.Joined))
	case !b.Cancelled.IsZero():
		return "cancelled", sentence("batch.cancelled", string(b.Card))
	case b.Held:
		return "held", sentence("batch.held", string(b.Card), b.HeldReason)
	}
	if by, yes := l.shop.Superseded(b.Part, b.Drawing, l.now); yes && !b.DrawingOK {
		return "drawing", sentence("drawing.superseded", b.Part, b.Drawing, by)
	}
	return "", traveler.Msg{}
}

func sentence(key string, args ...string) traveler.Msg { return traveler.Msg{Key: key, Args: args} }

// hints says what does not fit the plan, before someone is asked about it.
func (l *look) hints(s *Station) {
	o := l.op()
	if o == nil || l.v != nil || l.over(l.k) {
		return
	}
	if !o.Outside() && !l.canWork(l.k) {
		s.said.machine = sentence("machine.wrong", o.Number.String(), string(o.WorkCentre),
			string(l.machine.ID))
		return
	}
	if l.b.OnFloor && !l.seen() {
		return
	}
	if op := l.unseen(l.k); op != 0 {
		s.said.order = sentence("order.wrong", o.Number.String(), op.String())
	}
}

// unseen is the first operation before the k-th that nobody has seen; 0 = none.
func (l *look) unseen(k int) traveler.Op {
	for j := l.first(); j < k; j++ {
		if op := l.ts[j].Operation; !l.ts[j].Seen && !slices.Contains(l.b.Skipped, op) {
			return op
		}
	}
	return 0
}

// tooEarly reports whether the batch is more likely on its way than here for
// work: this work centre is done with it for now, and meets it again later.
func (l *look) tooEarly() bool {
	if l.unseen(l.k) == 0 {
		return false
	}
	for k := l.first(); k < l.k; k++ {
		if l.canWork(k) && l.ts[k].Seen {
			return true
		}
	}
	return false
}

func (l *look) seen() bool {
	return slices.ContainsFunc(l.ts, func(t story.Tally) bool { return t.Seen })
}

// undo finds the latest scan made here that can still be taken back.
func (l *look) undo() *Undo {
	for _, line := range l.f.Lines.Backward() {
		s := line.Entry.Scan
		if line.Batch != l.batch || line.Fate != story.FateStands || line.Entry.Machine != l.machine.ID ||
			isAboutScan(s) {
			continue
		}
		until := line.At.Add(story.UndoTime)
		if until.Before(l.now) {
			return nil
		}
		return &Undo{s.ID, s.Action, line.At, until, s.Device, s.Operator}
	}
	return nil
}

func isAboutScan(s *traveler.Scan) bool {
	return s.Action == traveler.ActUndo || s.Action == traveler.ActCorrect
}
