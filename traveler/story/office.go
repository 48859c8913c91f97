package story

import (
	"cmp"
	"slices"
	"strings"
	"tallywalk/traveler"
)

// What a decide scan may be about, beside a review (no For) and a question.
const (
	ForDrawing = "drawing" // go on with a superseded drawing
)

func (f *Family) checkDecide(ev *event, batch int, ts []Tally) *misfit {
	s := ev.s
	switch {
	case ev.isReckoning():
		return nil
	case s.For == "":
		return f.checkReview(ev, batch, ts)
	case s.For == ForDrawing:
		if s.Reason != "use" && s.Reason != "stop" {
			return no("decide.choice", s.Reason)
		}
		return nil
	}
	q, ok := f.question(s.For)
	if !ok {
		m := no("decide.gone")
		m.lapsed = true
		return m
	}
	if !q.offers(s.Reason) {
		return no("decide.choice", s.Reason)
	}
	return nil
}

func (f *Family) checkReview(ev *event, batch int, ts []Tally) *misfit {
	k := reviewAt(ev.s, ts)
	if k < 0 {
		return no("review.none", string(f.Batches[batch].Card))
	}
	if n := ev.s.Total(); n > ts[k].ReviewOpen || n == 0 {
		return no("review.over", ts[k].Operation.String(), num(ts[k].ReviewOpen), num(n))
	}
	if len(ev.s.Review) > 0 {
		return no("review.again")
	}
	if ev.s.Reason == "concession" && ev.s.Note == "" {
		return no("concession.reference")
	}
	return nil
}

// reviewAt is the operation whose reviewed pieces are decided: the one said, or
// the only one that has any.
func reviewAt(s *traveler.Scan, ts []Tally) int {
	found := -1
	for k := range ts {
		if s.Operation != 0 {
			if ts[k].Operation == s.Operation {
				return k
			}
			continue
		}
		if ts[k].ReviewOpen > 0 {
			if found >= 0 {
				return -1
			}
			found = k
		}
	}
	return found
}

func (f *Family) checkSplit(ev *event, batch int, ts []Tally) *misfit {
	n := ev.s.Pieces
	if n <= 0 {
		return no("split.none")
	}
	if ev.e.Other == "" || f.Index(ev.e.Other) >= 0 {
		return no("split.card")
	}
	if _, ok := f.splitAt(ev.s, batch, ts); !ok {
		return no("split.over", num(n), num(f.mostTogether(batch, ts)))
	}
	return nil
}

// together is how many pieces lie in front of operation k and have not been
// counted there; k = len(ts) stands for after the last operation.
func (f *Family) together(batch, k int, ts []Tally) int {
	b := &f.Batches[batch]
	if k == len(ts) {
		return max(0, f.atEnd(batch, ts)-b.Delivered())
	}
	if k < b.firstIndex() {
		return 0
	}
	if k == b.firstIndex() {
		return max(0, b.Started+b.moved(ts[k].Operation)-ts[k].Counted-ts[k].Assumed)
	}
	return max(0, ts[k-1].Good+b.moved(ts[k].Operation)-ts[k].Counted-ts[k].Assumed)
}

func (f *Family) mostTogether(batch int, ts []Tally) int {
	n := 0
	for k := 0; k <= len(ts); k++ {
		n = max(n, f.together(batch, k, ts))
	}
	return n
}

// splitAt finds in front of which operation the pieces lie that are split off:
// the one said, else the furthest where so many lie together.
func (f *Family) splitAt(s *traveler.Scan, batch int, ts []Tally) (k int, ok bool) {
	for k := len(ts); k >= 0; k-- {
		if s.Operation != 0 && (k == len(ts) || ts[k].Operation != s.Operation) {
			continue
		}
		if f.together(batch, k, ts) >= s.Pieces {
			return k, true
		}
	}
	return 0, false
}

func opAt(ts []Tally, k int) traveler.Op {
	if k >= len(ts) {
		return 0
	}
	return ts[k].Operation
}

func (f *Family) checkJoin(ev *event, batch int, ts []Tally) *misfit {
	from := f.Index(ev.e.Other)
	if from < 0 || from == batch {
		return no("join.stranger", ev.s.For)
	}
	g := &f.Batches[from]
	if g.Joined != "" || !g.Cancelled.IsZero() {
		return no("join.over", string(g.Card))
	}
	gts := f.Tallies(from)
	k, n := f.joinFrom(from, gts)
	if n == 0 {
		return no("join.nothing", string(g.Card))
	}
	if f.working(from) {
		return no("join.busy", string(g.Card))
	}
	if k < len(ts) && ts[k].Closed {
		return ask("join.passed", string(g.Card), ts[k].Operation.String())
	}
	return nil
}

// joinFrom is where all that is left of a batch lies together.
func (f *Family) joinFrom(batch int, ts []Tally) (k, n int) {
	left := f.sum(batch, ts)
	for k := 0; k <= len(ts); k++ {
		n := f.together(batch, k, ts)
		if n > 0 && n == left.ToDo+left.Good-f.Batches[batch].Delivered() {
			return k, n
		}
	}
	return 0, 0
}

func (f *Family) working(batch int) bool {
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch == batch && v.Open() && v.State != VisitWaiting {
			return true
		}
	}
	return false
}

// decide settles a question, a drawing or a review.
func (f *Family) decide(ev *event, batch int) {
	s, b := ev.s, &f.Batches[batch]
	if ev.isReckoning() {
		b.reckoned(s)
		return
	}
	ts := f.Tallies(batch)
	if s.For == "" {
		if k := reviewAt(s, ts); k >= 0 {
			d := Decision{Operation: ts[k].Operation, Scrap: traveler.SumLosses(s.Scrap),
				Rework: traveler.SumLosses(s.Rework), Miss: s.MissingPieces(), FromReview: true}
			for _, l := range s.Scrap {
				d.Losses = append(d.Losses, LossAt{l, "scrap", ev.e.Scan.ID})
			}
			for _, l := range s.Rework {
				d.Losses = append(d.Losses, LossAt{l, "rework", ev.e.Scan.ID})
			}
			if s.Reason == "concession" {
				d.Concession = s.GoodPieces()
			} else {
				d.Good = s.GoodPieces()
			}
			b.decided(ev, d)
		}
		return
	}
	if s.For == ForDrawing {
		b.DrawingOK = s.Reason == "use"
		return
	}
	q, ok := f.question(s.For)
	if !ok {
		return
	}
	f.Settled = append(slices.Clip(f.Settled),
		Settlement{Question: q, Choice: s.Reason, By: s.Operator, Name: ev.e.By.Name, At: ev.at,
			Scan: ev.e.Scan.ID})
	switch s.Reason {
	case ChoiceWorked:
		f.worked(q.Scan)
	case ChoiceHold:
		if i := f.Index(q.Card); i >= 0 {
			b := &f.Batches[i]
			b.Held, b.HeldBy, b.HeldReason = true, s.Operator, cmp.Or(s.Note, q.reason(), noPass)
		}
	case ChoicePassed, ChoiceQuarantine:
		f.afterUnpassed(ev, &q)
	}
	f.adjust(ev, q)
}

// noPass is why a batch is held of which a first-off has not passed, where nobody says
// more of it.
const noPass = "first-off"

// reason is why the first-off was rejected that a question is about.
func (q *Question) reason() string {
	if len(q.Known.Args) > 2 {
		return q.Known.Args[2]
	}
	return ""
}

// afterUnpassed takes a first-off as passed since, or sets aside the good pieces that
// were made since the run, or the count, that a question is about.
func (f *Family) afterUnpassed(ev *event, q *Question) {
	for i := range f.Visits {
		v := &f.Visits[i]
		for _, u := range v.unpassed {
			if u.scan != q.Scan {
				continue
			}
			if ev.s.Reason == ChoicePassed {
				v.Rejected, v.FirstOff = nil, FirstAccepted
				return
			}
			if n := v.Good - u.good; n > 0 {
				v.Good, v.Review = v.Good-n, v.Review+n
				loss := traveler.Loss{Reason: q.reason(), N: n}
				v.Losses = append(slices.Clip(v.Losses), LossAt{loss, "review", ev.e.Scan.ID})
			}
			return
		}
	}
}

// adjust changes numbers as the answer to a question about numbers says.
func (f *Family) adjust(ev *event, q Question) {
	batch := f.Index(q.Card)
	if batch < 0 {
		return
	}
	b := &f.Batches[batch]
	d := Decision{Operation: q.Operation}
	switch ev.s.Reason {
	case ChoiceLower:
		d.Good = -q.Pieces
	case ChoiceRaise:
		d.Operation, d.Good = q.Before, q.Pieces
	case ChoiceMissing:
		d.Miss = q.Pieces
	case ChoiceGood:
		d.Good = q.Pieces
	default:
		return
	}
	b.decided(ev, d)
}

func (b *Batch) decided(ev *event, d Decision) {
	d.By, d.At, d.Scan, d.Reference = ev.s.Operator, ev.at, ev.e.Scan.ID, ev.s.Note
	b.Decisions = append(slices.Clip(b.Decisions), d)
}

func (b *Batch) addOp(o traveler.Operation) {
	if b.index(o.Number) >= 0 || o.Number <= 0 {
		return
	}
	ops := make([]traveler.Operation, 0, len(b.Ops)+1)
	for _, x := range b.Ops {
		if x.Number < o.Number {
			ops = append(ops, x)
		}
	}
	ops = append(ops, o)
	b.Ops = append(ops, b.Ops[len(ops)-1:]...)
}

func (b *Batch) skip(n traveler.Op) {
	if !b.skipped(n) {
		b.Skipped = append(slices.Clip(b.Skipped), n)
	}
}

// split makes a batch of its own of pieces that lie together.
func (f *Family) split(ev *event, batch int) {
	code := ev.e.Other
	if code == "" || f.Index(code) >= 0 || ev.s.Pieces <= 0 {
		return
	}
	ts := f.Tallies(batch)
	k, ok := f.splitAt(ev.s, batch, ts)
	if !ok {
		return
	}
	before, n := opAt(ts, k), ev.s.Pieces
	child := f.Batches[batch]
	child.Card, child.Parent = code, f.Batches[batch].Card
	child.First = before
	if before == 0 {
		child.First = traveler.MaxOp + 1
	}
	child.Started, child.Wanted = n, min(n, child.Wanted)
	child.Released = ev.at
	child.Out, child.In, child.Decisions, child.Reckoned, child.Deliveries = nil, nil, nil, nil, nil
	child.Changes, child.MadeUp = nil, nil
	child.Ticks = slices.DeleteFunc(slices.Clone(child.Ticks),
		func(t Tick) bool { return t.Operation < child.First })
	child.Skipped, child.Lots = nil, append([]string(nil), child.Lots...)
	child.WaitReason, child.Joined, child.Stock = "", "", 0
	child.OnFloor = false
	b := &f.Batches[batch]
	b.Out = append(slices.Clip(b.Out), Transfer{Before: before, N: n, Other: code})
	b.Wanted -= child.Wanted
	f.Batches = append(f.Batches, child)
}

// join brings what is left of a sibling back under this card.
func (f *Family) join(ev *event, batch int) {
	from := f.Index(ev.e.Other)
	if from < 0 || from == batch {
		return
	}
	gts := f.Tallies(from)
	k, n := f.joinFrom(from, gts)
	if n == 0 {
		return
	}
	g, b := &f.Batches[from], &f.Batches[batch]
	before := opAt(gts, k)
	g.Out = append(slices.Clip(g.Out), Transfer{Before: before, N: n, Other: b.Card})
	g.Joined = b.Card
	b.Wanted, g.Wanted = b.Wanted+g.Wanted, 0
	b.In = append(slices.Clip(b.In), Transfer{Before: before, N: n, Other: g.Card})
	for _, lot := range g.Lots {
		b.addLot(lot)
	}
}

func (b *Batch) addLot(lot string) {
	for _, l := range b.Lots {
		if strings.EqualFold(l, lot) {
			return
		}
	}
	b.Lots = append(append([]string(nil), b.Lots...), lot)
}
