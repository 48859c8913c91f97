package story

import (
	"cmp"
	"slices"
	"tallywalk/traveler"
	"time"
)

// apply folds one scan into the story. It is total: a scan that makes no
// sense, kept because someone said so, changes nothing.
func (f *Family) apply(shop *traveler.Shop, ev *event, line *Line) {
	batch := f.Index(ev.card)
	if batch < 0 || isControl(ev.s) {
		return
	}
	line.Batch = batch
	b := &f.Batches[batch]
	s := ev.s
	switch s.Action {
	case traveler.ActHold:
		b.Held, b.HeldBy, b.HeldReason = true, s.Operator, s.Reason
	case traveler.ActFree:
		b.Held, b.HeldReason = false, ""
	case traveler.ActDecide:
		f.decide(ev, batch)
	case traveler.ActOverride:
		b.override(ev)
	case traveler.ActReady:
		f.ready(ev, batch)
	case traveler.ActSplit:
		f.split(ev, batch)
	case traveler.ActJoin:
		f.join(ev, batch)
	case traveler.ActCancel:
		b.Cancelled, b.Stock = ev.at, s.GoodPieces()
		f.leave(batch, ev.at)
	case traveler.ActDeliver:
		n := s.Pieces
		if n == 0 {
			n = max(0, f.Sum(batch).Good-b.Delivered())
		}
		b.Deliveries = append(slices.Clip(b.Deliveries), Delivery{Pieces: n, At: ev.at, Note: s.Note})
		if b.Delivered() > 0 && f.Sum(batch).ToDo == 0 {
			f.leave(batch, ev.at)
		}
	case traveler.ActMove:
		if to, ok := shop.FindMachine(s.To); ok {
			f.carry(batch, -1, to, ev.at)
			if s.Pieces == 0 {
				f.leave(batch, ev.at)
			}
		}
	default:
		f.work(shop, ev, batch, line)
	}
}

// leave ends, by inference, all visits of a batch that go on.
func (f *Family) leave(batch int, at time.Time) {
	for i := range f.Visits {
		if v := &f.Visits[i]; v.Batch == batch && v.Open() {
			v.PassedBy = at
		}
	}
}

// work folds what was done at a machine.
func (f *Family) work(shop *traveler.Shop, ev *event, batch int, line *Line) {
	b := &f.Batches[batch]
	ts := ev.ts
	if ts == nil {
		ts = f.Tallies(batch)
	}
	sp := f.locate(shop, ev, batch, ts)
	if ev.s.Action == traveler.ActStop && !f.stops(&sp) {
		b.WaitReason, b.WaitBy = ev.s.Reason, ev.s.Operator
		return
	}
	if b.index(sp.op) < 0 {
		return
	}
	if sp.visit < 0 {
		f.begin(ev, &sp, ts)
	}
	line.Visit = sp.visit
	v := &f.Visits[sp.visit]
	v.Scans = append(v.Scans, ev.e.Scan.ID)
	v.PassedBy = time.Time{}
	v.TimeUncertain = v.TimeUncertain || ev.uncertain
	if p := ev.s.Operator; p != "" && !slices.Contains(v.People, p) {
		v.People = append(slices.Clip(v.People), p)
	}
	for _, m := range ev.s.Measured {
		v.Measured = append(slices.Clip(v.Measured), MeasuredAt{m, ev.s.Operator, ev.at, ev.e.Scan.ID})
	}
	if line.Anyway.Key != "" && slices.Contains(withoutPass, line.Anyway.Key) {
		v.unpassed = append(slices.Clip(v.unpassed), unpassed{ev.e.Scan.ID, v.Good})
	}
	f.pass(&sp, ev.at)
	f.advance(ev, &sp)
}

// stops reports whether there is work that a stop can stop.
func (f *Family) stops(sp *spot) bool {
	if sp.visit < 0 {
		return false
	}
	switch f.Visits[sp.visit].State {
	case VisitWaiting, VisitFinished:
		return false
	}
	return true
}

// begin opens a visit, and lets what was not seen before it have passed.
func (f *Family) begin(ev *event, sp *spot, ts []Tally) {
	b := &f.Batches[sp.batch]
	v := Visit{
		ID: ev.e.Scan.ID, Batch: sp.batch, Operation: sp.op, Machine: sp.machine,
		ReworkFor: sp.rework, State: VisitWaiting, Arrived: ev.at,
		ArrivalInferred: ev.s.Action != traveler.ActArrive,
	}
	if b.Place != sp.machine {
		v.CameFrom = b.Place
	}
	for k := range ts {
		if ts[k].Operation >= sp.op {
			break
		}
		if k >= b.firstIndex() && !ts[k].Seen && sp.rework == 0 {
			b.skip(ts[k].Operation)
		}
	}
	sp.visit = len(f.Visits)
	f.carry(sp.batch, sp.visit, sp.machine, ev.at)
	f.Visits = append(f.Visits, v)
}

// carry notes that a batch is in another place now. How far that was is for the
// plan of the floor to say.
func (f *Family) carry(batch, visit int, to traveler.MachineID, at time.Time) {
	b := &f.Batches[batch]
	if b.Place == to {
		return
	}
	if b.Place != "" {
		f.Trips = append(f.Trips, traveler.Trip{Batch: batch, Visit: visit, From: b.Place, To: to, At: at})
	}
	b.Place = to
}

// pass lets visits elsewhere have ended once the batch is seen further on. A
// second machine that works on the same operation does not end the first one's
// work, unless that had stopped.
func (f *Family) pass(sp *spot, at time.Time) {
	for i := range f.Visits {
		v := &f.Visits[i]
		if i == sp.visit || v.Batch != sp.batch || !v.Open() || v.Machine == sp.machine {
			continue
		}
		if v.ReworkFor != 0 && sp.rework == 0 && sp.op < v.ReworkFor {
			continue
		}
		if v.ReworkFor == 0 && (sp.rework != 0 || v.Operation > sp.op) {
			continue
		}
		if v.Operation == sp.op && v.ReworkFor == sp.rework && v.State != VisitStopped &&
			v.State != VisitWaiting {
			continue
		}
		if v.State == VisitOutside {
			continue
		}
		v.PassedBy = at
	}
}

// advance moves a visit on by what the scan says.
func (f *Family) advance(ev *event, sp *spot) {
	v := &f.Visits[sp.visit]
	s := ev.s
	if s.Action != traveler.ActArrive {
		f.Batches[sp.batch].WaitReason = ""
	}
	switch s.Action {
	case traveler.ActArrive:
	case traveler.ActSetup:
		f.span(sp.visit, SpanSetup, ev)
		v.move(s.Action, "")
		v.readCounter(s)
	case traveler.ActFirstOff:
		f.firstOff(ev, sp)
	case traveler.ActRun:
		f.span(sp.visit, SpanRun, ev)
		v.move(s.Action, "")
		v.readCounter(s)
		f.overrule(sp)
	case traveler.ActStop:
		f.span(sp.visit, SpanStop, ev)
		v.move(s.Action, "")
	case traveler.ActSend:
		f.span(sp.visit, SpanOutside, ev)
		v.move(s.Action, "")
		v.Wanted += f.sent(s, sp)
	case traveler.ActCount, traveler.ActReceive:
		f.count(ev, sp)
	case traveler.ActFinish:
		f.count(ev, sp)
		f.closeSpan(sp.visit, ev.at, false)
		v.move(s.Action, "")
		v.Finished = ev.at
	}
}

func (v *Visit) readCounter(s *traveler.Scan) {
	if s.Reads != nil {
		v.Reads = s.Reads
	}
}

func (f *Family) sent(s *traveler.Scan, sp *spot) int {
	if s.Pieces > 0 {
		return s.Pieces
	}
	ts := f.Tallies(sp.batch)
	if k := f.Batches[sp.batch].index(sp.op); k >= 0 {
		return ts[k].Left()
	}
	return 0
}

// firstOff hands the first piece over, or records the verdict on it.
func (f *Family) firstOff(ev *event, sp *spot) {
	v := &f.Visits[sp.visit]
	if !ev.s.HasCounts() {
		f.span(sp.visit, SpanFirstOff, ev)
		v.move(ev.s.Action, pieceNone)
		return
	}
	f.add(ev, sp, ev.s.Total())
	running := v.State == VisitRunning
	if ev.s.GoodPieces() > 0 {
		v.Rejected = nil
		if !running {
			f.closeSpan(sp.visit, ev.at, false)
		}
		v.move(ev.s.Action, pieceGood)
		return
	}
	kind, reason := rejection(ev.s)
	v.Rejected = &Verdict{By: ev.s.Operator, At: ev.at, Kind: kind, Reason: reason}
	if !running {
		f.span(sp.visit, SpanSetup, ev)
	}
	v.move(ev.s.Action, pieceBad)
}

// rejection is why a first-off was rejected, in the shop's words for it, and what
// becomes of the piece.
func rejection(s *traveler.Scan) (kind, reason string) {
	for _, x := range []struct {
		kind string
		l    []traveler.Loss
	}{{"scrap", s.Scrap}, {"rework", s.Rework}, {"review", s.Review}} {
		if len(x.l) > 0 {
			return x.kind, cmp.Or(x.l[0].Reason, s.Note)
		}
	}
	return "", s.Note
}

// overrule notes that the run began in spite of a rejected first-off.
func (f *Family) overrule(sp *spot) {
	if v, stands := f.rejected(sp); stands {
		o := *v
		o.Overrule = true
		f.Visits[sp.visit].Rejected = &o
	}
}

// count adds pieces; a run that nobody started is inferred.
func (f *Family) count(ev *event, sp *spot) {
	v := &f.Visits[sp.visit]
	n := ev.s.Total() + f.fromCounter(ev.s, sp)
	setupPieces := 0
	if ev.s.Phase == "setup" {
		setupPieces = n
	}
	if ev.s.Action == traveler.ActReceive {
		f.receive(ev, sp, n)
		return
	}
	if n > 0 && v.Finished.IsZero() && setupPieces == 0 {
		f.inferRun(ev, sp)
	}
	f.add(ev, sp, setupPieces)
	v.readCounter(ev.s)
}

// inferRun lets a run have begun for pieces that were counted without one.
func (f *Family) inferRun(ev *event, sp *spot) {
	v := &f.Visits[sp.visit]
	if !slices.Contains(notYet, v.State) {
		return
	}
	from := v.Arrived
	for i := range f.Spans {
		if f.Spans[i].Visit == sp.visit {
			from = f.Spans[i].From
			if !f.Spans[i].To.IsZero() {
				from = f.Spans[i].To
			}
		}
	}
	hadSpan := f.closeSpan(sp.visit, ev.at, true)
	if hadSpan {
		// Setting went over into running at an unknown moment.
		from = ev.at
	}
	f.Spans = append(f.Spans,
		Span{Visit: sp.visit, Kind: SpanRun, From: from, Inferred: true, By: ev.s.Operator})
	v.move(traveler.ActCount, pieceMade)
	v.StartInferred = true
}

// receive takes pieces back from outside; the visit is over when all are back.
func (f *Family) receive(ev *event, sp *spot, n int) {
	v := &f.Visits[sp.visit]
	if n == 0 {
		good := ev.s.Pieces
		if good == 0 {
			good = max(0, v.Wanted-v.counted())
		}
		v.Good += good
	}
	f.add(ev, sp, 0)
	if v.counted() >= v.Wanted {
		f.closeSpan(sp.visit, ev.at, false)
		v.move(ev.s.Action, pieceBack)
		v.Finished = ev.at
	}
}

// add writes the pieces of a scan to its visit.
func (f *Family) add(ev *event, sp *spot, setupPieces int) {
	v := &f.Visits[sp.visit]
	s := ev.s
	v.Good += s.GoodPieces() + f.fromCounter(s, sp)
	v.Missing += s.MissingPieces()
	v.SetupPieces += setupPieces
	v.Scrap += f.lose(v, "scrap", s.Scrap, s.ID)
	v.Rework += f.lose(v, "rework", s.Rework, s.ID)
	v.Review += f.lose(v, "review", s.Review, s.ID)
}

func (f *Family) lose(v *Visit, outcome string, losses []traveler.Loss, id traveler.ScanID) int {
	for _, l := range losses {
		v.Losses = append(v.Losses, LossAt{Loss: l, Outcome: outcome, Scan: id})
	}
	return traveler.SumLosses(losses)
}

// span ends what a visit was at and begins something else.
func (f *Family) span(visit int, kind SpanKind, ev *event) {
	if i := f.openSpan(visit); i >= 0 && f.Spans[i].Kind == kind && kind == SpanRun &&
		!f.handsOver(&f.Spans[i], ev.s.Operator) {
		return // it runs already
	}
	f.closeSpan(visit, ev.at, false)
	s := Span{Visit: visit, Kind: kind, From: ev.at, By: ev.s.Operator}
	if kind == SpanStop {
		s.Reason = ev.s.Reason
	}
	f.Spans = append(f.Spans, s)
}

// handsOver reports whether someone else goes on with what a span is spent on.
func (f *Family) handsOver(s *Span, to traveler.PersonID) bool {
	return f.Rules >= rulesHandover && to != "" && to != s.By
}

func (f *Family) openSpan(visit int) int {
	for i := len(f.Spans) - 1; i >= 0; i-- {
		if f.Spans[i].Visit == visit {
			if f.Spans[i].To.IsZero() {
				return i
			}
			return -1
		}
	}
	return -1
}

func (f *Family) closeSpan(visit int, at time.Time, inferred bool) bool {
	i := f.openSpan(visit)
	if i < 0 {
		return false
	}
	f.Spans[i].To = at
	f.Spans[i].Inferred = f.Spans[i].Inferred || inferred
	return true
}
