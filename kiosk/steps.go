package kiosk

import (
	"slices"
	"strconv"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// steps lists what the one who asks can say of the batch here, the likely step
// first, and what waits for someone else. A batch that is cancelled, or was
// joined to another, has none: its sentence says what to do. Nor is a step
// likely where the next one is someone else's.
func (l *look) steps() ([]Step, []Notice) {
	var out []Step
	switch kind, _ := l.blocked(); kind {
	case "joined", "cancelled":
		return []Step{}, nil
	case "held":
		out = l.whenHeld()
	case "drawing":
		out = l.whenSuperseded()
	default:
		out = append(l.whenFree(), l.reworks()...)
	}
	out = append(out, l.reviews()...)
	out = unlike(append(out, l.always()...))
	mine := slices.DeleteFunc(slices.Clone(out), func(s Step) bool { return !l.may(s) })
	if len(mine) > 0 && !l.isForInspector(out[0]) {
		mine[0].Likely = true
	}
	return mine, l.others(out)
}

// unlike leaves out steps that say the same as an earlier one.
func unlike(in []Step) []Step {
	out := in[:0]
	for _, s := range in {
		same := func(o Step) bool {
			return o.Key == s.Key && o.Operation == s.Operation && o.For == s.For && o.Phase == s.Phase && o.To == s.To
		}
		if !slices.ContainsFunc(out, same) {
			out = append(out, s)
		}
	}
	return out
}

// working reports whether the open visit has begun and is not over.
func (l *look) working() bool {
	return l.v != nil && l.v.State != story.VisitWaiting && l.v.State != story.VisitFinished
}

func (l *look) whenHeld() []Step {
	free := step(traveler.ActFree, NeedNothing, "free")
	if l.machine.Kind == "inspection" {
		return []Step{free}
	}
	aside := step(traveler.ActMove, NeedPlace, "move")
	if !l.working() {
		return []Step{aside, free}
	}
	if l.v.State == story.VisitRunning || l.v.State == story.VisitSetting {
		return []Step{l.stop(), l.count(), l.finish(), free}
	}
	return []Step{l.finish(), l.count(), free}
}

func (l *look) whenSuperseded() []Step {
	use := step(traveler.ActDecide, NeedNothing, "drawing.use", l.b.Drawing)
	use.For, use.Reason = story.ForDrawing, "use"
	no := step(traveler.ActDecide, NeedNothing, "drawing.stop")
	no.For, no.Reason = story.ForDrawing, "stop"
	out := []Step{l.wait()}
	if l.working() {
		out = []Step{l.stop(), l.count(), l.finish()}
		if l.v.State == story.VisitStopped {
			out = []Step{l.finish(), l.count()}
		}
		if l.v.State == story.VisitOutside {
			out = l.byState()
		}
	}
	return append(out, use, no)
}

// whenFree is what the batch is most likely here for.
func (l *look) whenFree() []Step {
	inspects := l.machine.Kind == "inspection" && !l.working()
	if v := l.awaitsVerdict(); v >= 0 && inspects {
		return append([]Step{l.verdict(v)}, l.begin()...)
	}
	if r := l.reviews(); len(r) > 0 && inspects {
		return append(r, l.begin()...)
	}
	switch {
	case l.v != nil && l.v.State != story.VisitFinished:
		return l.byState()
	case l.outside() >= 0:
		return append([]Step{l.receive(l.outside())}, l.elsewhere()...)
	case l.next < len(l.ts) && l.b.Ops[l.next].Outside():
		return l.sendOut()
	case l.k >= 0 && l.canWork(l.k) && !l.over(l.k) && !l.tooEarly() && l.hasWork():
		if s, yes := l.astray(); yes {
			return append([]Step{s}, l.begin()...)
		}
		return l.begin()
	}
	if r := l.reworks(); len(r) > 0 {
		return append(r, l.carry())
	}
	return l.elsewhere()
}

func (l *look) awaitsVerdict() int {
	return slices.IndexFunc(l.f.Visits, func(v story.Visit) bool {
		return v.Batch == l.batch && v.State != story.VisitFinished && v.FirstOff == "waiting"
	})
}

// byState is what can be said of the visit that is open here.
func (l *look) byState() []Step {
	if !l.v.PassedBy.IsZero() {
		return []Step{l.finish(), l.count(), l.runOn(), l.afresh(step(traveler.ActSetup, NeedNothing, "setup.again")), l.carry()}
	}
	switch l.v.State {
	case story.VisitSetting:
		return l.whileSetting()
	case story.VisitFirstOff:
		return []Step{l.verdict(l.visit), l.setupAgain(), l.stop(), l.count(), l.finish(), l.run()}
	case story.VisitReady:
		return l.unlessOver([]Step{l.run(), l.setupAgain(), l.stop(), l.count(), l.finish()})
	case story.VisitRunning:
		if l.isRefused() {
			return append([]Step{l.setupAgain(), l.firstOff()}, l.stop(), l.count(), l.finish())
		}
		return l.unlessOver([]Step{l.count(), l.finish(), l.stop(), l.setupAgain()})
	case story.VisitStopped:
		again := l.stop()
		again.Key, again.Word = "stop.why", word("stop.why")
		if l.isRefused() {
			return []Step{l.setupAgain(), l.firstOff(), l.count(), l.finish(), again, l.runOn()}
		}
		return l.unlessOver([]Step{l.runOn(), l.count(), l.finish(), again, l.setupAgain()})
	case story.VisitOutside:
		return []Step{l.receive(l.visit), l.finish()}
	}
	return l.begin()
}

// outside finds the visit of the batch's next operation that is out, or -1.
func (l *look) outside() int {
	return slices.IndexFunc(l.f.Visits, func(v story.Visit) bool {
		return v.Batch == l.batch && v.State == story.VisitOutside && v.Open() &&
			l.next < len(l.ts) && v.Operation == l.ts[l.next].Operation
	})
}

// receive takes pieces back, at whatever station they come in.
func (l *look) receive(visit int) Step {
	v := &l.f.Visits[visit]
	s := step(traveler.ActReceive, NeedCounts, "receive")
	s.Operation, s.Visit = v.Operation, v.ID
	s.Pieces = max(0, v.Wanted-v.Good-v.Scrap-v.Rework-v.Review-v.Missing)
	return s
}

func (l *look) whileSetting() []Step {
	pieces := l.here(step(traveler.ActCount, NeedCounts, "count.setup"))
	pieces.Phase = "setup"
	if l.isRefused() {
		return []Step{l.firstOff(), l.setupAgain(), l.stop(), pieces, l.count(), l.finish(), l.run()}
	}
	out := []Step{l.run(), l.firstOff(), l.stop(), pieces, l.count(), l.finish()}
	if l.op().FirstOff && l.v.FirstOff != "accepted" && l.v.ReworkFor == 0 {
		out[0], out[1] = out[1], out[0]
	}
	return l.unlessOver(out)
}

// unlessOver puts the finish first where every piece is counted.
func (l *look) unlessOver(steps []Step) []Step {
	if l.left > 0 {
		return steps
	}
	rest := slices.DeleteFunc(steps, func(s Step) bool { return s.Action == traveler.ActFinish })
	return append([]Step{l.finish()}, rest...)
}

// begin is what can be said of work that has not begun: set-up, or the run at
// once where none is planned.
func (l *look) begin() []Step {
	o := l.op()
	if o == nil {
		return nil
	}
	arrive := l.here(step(traveler.ActArrive, NeedNothing, "arrive"))
	out := []Step{l.setup(), l.run(), arrive, l.wait(), l.count(), l.finish()}
	if _, yes := l.astray(); yes {
		for i, key := range []string{"setup.anyway", "run.anyway"} {
			out[i].Key, out[i].Args, out[i].Word = key, []string{o.Number.String()}, word(key, o.Number.String())
		}
	}
	if o.SetupMin == 0 {
		out[0], out[1] = out[1], out[0]
		if o.FirstOff && (l.v == nil || l.v.ReworkFor == 0) {
			out = append([]Step{l.firstOff()}, out...)
		}
	}
	if l.v != nil {
		return slices.DeleteFunc(out, func(s Step) bool { return s.Action == traveler.ActArrive })
	}
	return out
}

// sendOut is what can be said when the next operation is done outside.
func (l *look) sendOut() []Step {
	o, t := &l.b.Ops[l.next], &l.ts[l.next]
	all := step(traveler.ActSend, NeedNothing, "send", o.Number.String())
	some := step(traveler.ActSend, NeedPieces, "send.part")
	all.Operation, some.Operation, some.Pieces = o.Number, o.Number, t.Left()
	out := []Step{all, some, l.wait()}
	if l.k >= 0 && l.canWork(l.k) && !l.over(l.k) {
		out = append(out, l.begin()...)
	}
	return out
}

// elsewhere is what can be said where nothing is to be done here.
func (l *look) elsewhere() []Step {
	put := step(traveler.ActMove, NeedNothing, "move.here")
	put.To = l.machine.ID
	out := []Step{l.carry()}
	if l.next == len(l.ts) {
		if n := l.f.Sum(l.batch).Good - l.b.Delivered(); n > 0 {
			all := step(traveler.ActDeliver, NeedNothing, "deliver", strconv.Itoa(n))
			some := step(traveler.ActDeliver, NeedPieces, "deliver.part")
			some.Pieces = n
			out = append(out, all, some)
			if l.machine.Kind == "dock" || out[0].To == "" {
				out[0], out[1] = out[1], out[0]
			}
		}
	}
	if l.isPlace() && l.b.Place != l.machine.ID && (l.next < len(l.ts) || len(out) > 1) && out[0].Action == traveler.ActMove {
		return append([]Step{put}, out...)
	}
	out = append(out, l.wait())
	if l.k >= 0 && l.next < len(l.ts) {
		out = append(out, l.begin()...)
	}
	return append(out, put)
}

// carry says where the batch goes next: to the next operation, or to the dock.
func (l *look) carry() Step {
	if s, yes := l.astray(); yes {
		return s
	}
	if k := l.ahead(); k < len(l.ts) {
		wc := l.b.Ops[k].WorkCentre
		if l.b.Ops[k].Outside() || l.canWork(k) {
			return step(traveler.ActMove, NeedPlace, "move")
		}
		return carryTo(string(wc), l.only(wc), wc)
	}
	for _, m := range l.shop.Machines(l.now) {
		if m.Kind == "dock" && m.ID != l.machine.ID {
			return carryTo(m.Name, m.ID, m.WorkCentre)
		}
	}
	return step(traveler.ActMove, NeedPlace, "move")
}

// only is the machine of a work centre that has no other; empty else.
func (l *look) only(wc traveler.WorkCentre) traveler.MachineID {
	var found traveler.MachineID
	for _, m := range l.shop.Machines(l.now) {
		if l.shop.CanWork(m.ID, wc, l.now) {
			if found != "" {
				return ""
			}
			found = m.ID
		}
	}
	return found
}

// reworks is what can be said here of pieces that wait for rework at this
// operation or behind it.
func (l *look) reworks() []Step {
	if l.v != nil && l.v.ReworkFor != 0 {
		return nil
	}
	var out []Step
	for j := range l.ts {
		if l.ts[j].ReworkOpen == 0 {
			continue
		}
		at := -1
		for k := l.first(); k <= j; k++ {
			if l.canWork(k) {
				at = k
			}
		}
		if at < 0 {
			continue
		}
		for _, s := range []Step{
			step(traveler.ActRun, NeedNothing, "rework.run", l.ts[j].Operation.String()),
			step(traveler.ActSetup, NeedNothing, "rework.setup", l.ts[j].Operation.String()),
			step(traveler.ActArrive, NeedNothing, "rework.arrive", l.ts[j].Operation.String()),
		} {
			s.For, s.Operation = l.ts[j].Operation.String(), l.b.Ops[at].Number
			out = append(out, s)
		}
	}
	return out
}

// reviews is what an inspector can say of pieces that were set aside.
func (l *look) reviews() []Step {
	var out []Step
	for j := range l.ts {
		if l.ts[j].ReviewOpen == 0 {
			continue
		}
		op := l.ts[j].Operation
		d := step(traveler.ActDecide, NeedCounts, "decide", op.String())
		c := step(traveler.ActDecide, NeedCounts, "concession", op.String())
		c.Reason = "concession"
		for _, s := range []Step{d, c} {
			s.Operation, s.Pieces = op, l.ts[j].ReviewOpen
			out = append(out, s)
		}
	}
	return out
}

// always is what can be said of a batch at any place.
func (l *look) always() []Step {
	out := []Step{}
	if v := l.awaitsVerdict(); v >= 0 {
		out = append(out, l.verdict(v))
	}
	out = append(out, step(traveler.ActMove, NeedPlace, "move"))
	if l.b.Held {
		return out
	}
	split := step(traveler.ActSplit, NeedPieces, "split")
	out = append(out, split, step(traveler.ActHold, NeedHold, "hold"))
	if len(l.siblings()) > 0 {
		out = append(out, step(traveler.ActJoin, NeedSibling, "join"))
	}
	return out
}
