package story

import (
	"slices"
	"strconv"
	"tallywalk/traveler"
	"time"
)

// misfit is why a scan does not fit the story so far.
type misfit struct {
	msg traveler.Msg
	ask bool // it may be said anyway
	// count says that only the pieces do not fit.
	count bool
	// shown says that the numbers themselves ask once it was said anyway.
	shown bool
	// keep says that the scan is kept as a question though someone waits for the
	// answer: what was done is not in doubt, only when.
	keep bool
	// lapsed says that what a scan is about does not stand any more: a question,
	// whose numbers ask again by themselves, or what an operation needs to begin.
	lapsed bool
}

// askable are the sentences after which a scan may be said anyway.
var askable = []string{
	"time.before", "machine.wrong", "order.wrong", "op.over", "firstoff.open", "firstoff.none",
	"firstoff.overrule", "firstoff.counted", "count.started", "count.over", "deliver.over", "join.passed",
}

// Askable gives the keys of these sentences.
func Askable() []string { return slices.Clone(askable) }

// MayAnyway reports whether a scan that was refused in these words may be said again with Anyway.
func MayAnyway(m traveler.Msg) bool { return slices.Contains(askable, m.Key) }

func no(key string, args ...string) *misfit { return &misfit{msg: traveler.Msg{Key: key, Args: args}} }

func ask(key string, args ...string) *misfit {
	return &misfit{msg: traveler.Msg{Key: key, Args: args}, ask: true}
}

func miscount(key string, args ...string) *misfit {
	return &misfit{msg: traveler.Msg{Key: key, Args: args}, ask: true, count: true}
}

func num(n int) string { return strconv.Itoa(n) }

// maxEarly is how long before a batch's release something may be said to have
// happened to it without a question.
const maxEarly = time.Hour

// check says why a scan does not fit, or nil. It changes nothing.
func (f *Family) check(shop *traveler.Shop, ev *event) *misfit {
	if isControl(ev.s) {
		return checkControl(ev)
	}
	batch := f.Index(ev.card)
	if batch < 0 {
		return no("card.gone", string(ev.card))
	}
	if m := checkPerson(ev); m != nil {
		return m
	}
	b := &f.Batches[batch]
	if m := checkBatch(shop, ev, b); m != nil {
		return m
	}
	if m := checkTime(ev, b); m != nil {
		return m
	}
	ts := f.Tallies(batch)
	ev.ts = ts
	switch ev.s.Action {
	case traveler.ActDecide:
		return f.checkDecide(ev, batch, ts)
	case traveler.ActSplit:
		return f.checkSplit(ev, batch, ts)
	case traveler.ActJoin:
		return f.checkJoin(ev, batch, ts)
	case traveler.ActDeliver:
		if n := max(0, f.sum(batch, ts).Good-b.Delivered()); ev.s.Pieces > n {
			return ask("deliver.over", num(ev.s.Pieces), num(n))
		}
	case traveler.ActMove:
		if _, ok := shop.FindMachine(ev.s.To); !ok {
			return no("place.unknown", ev.s.To)
		}
	case traveler.ActOverride:
		return checkOverride(ev, b)
	case traveler.ActReady:
		return f.checkReady(shop, ev, batch, ts)
	case traveler.ActArrive, traveler.ActSetup, traveler.ActFirstOff, traveler.ActRun, traveler.ActCount,
		traveler.ActFinish, traveler.ActSend, traveler.ActReceive:
		return f.checkWork(shop, ev, batch, ts)
	}
	return nil
}

// checkTime says whether a scan can have happened when it says it did. A late
// scan's clock is asked about like someone's word; one that someone waits for
// can't be a day off without being asked about.
func checkTime(ev *event, b *Batch) *misfit {
	if ev.far() && !ev.force {
		days := ev.e.Clocked().Sub(ev.clock()).Abs().Round(24*time.Hour) / (24 * time.Hour)
		return &misfit{msg: traveler.Msg{Key: "time.far",
			Args: []string{ev.clock().UTC().Format(time.DateOnly), num(int(days))}}, keep: true}
	}
	if ev.e.FromLog() {
		return nil
	}
	at, said := ev.at, ev.happened != nil
	if !said && ev.rules >= rulesClocks && !ev.e.Scan.IsPresent() {
		at, said = ev.clock(), true
	}
	if early := b.Released.Sub(at); said && early > maxEarly {
		return ask("time.before", string(b.Card), num(int(early/time.Hour)))
	}
	return nil
}

func checkControl(ev *event) *misfit {
	if !ev.aimed {
		return no("control.unknown", ev.s.For)
	}
	return ev.denied
}

func checkPerson(ev *event) *misfit {
	if ev.e.By.Role == "" {
		return no("person.unknown", string(ev.s.Operator))
	}
	if deed := traveler.DeedOf(ev.s); !traveler.May(ev.e.By.Role, deed) {
		return roleMisfit(ev, deed)
	}
	return nil
}

// checkBatch says whether the batch as a whole may be worked on.
func checkBatch(shop *traveler.Shop, ev *event, b *Batch) *misfit {
	act := ev.s.Action
	if act == traveler.ActDecide {
		return nil
	}
	if b.Joined != "" {
		return no("batch.joined", string(b.Card), string(b.Joined))
	}
	if !b.Cancelled.IsZero() && act != traveler.ActDeliver {
		return no("batch.cancelled", string(b.Card))
	}
	switch act {
	case traveler.ActDeliver, traveler.ActJoin:
		if b.Held {
			return no("batch.held", string(b.Card), b.HeldReason)
		}
	case traveler.ActSetup, traveler.ActRun, traveler.ActSend:
		return barred(shop, ev, b)
	}
	return nil
}

// barred says why no new work may begin on a batch.
func barred(shop *traveler.Shop, ev *event, b *Batch) *misfit {
	if b.Held {
		return no("batch.held", string(b.Card), b.HeldReason)
	}
	if by, yes := shop.Superseded(b.Part, b.Drawing, ev.at); yes && !b.DrawingOK {
		return no("drawing.superseded", b.Part, b.Drawing, by)
	}
	return nil
}

// checkWork says whether work at a machine fits: the operation, the machine,
// the order of the route, the first-off, the number of pieces.
func (f *Family) checkWork(shop *traveler.Shop, ev *event, batch int, ts []Tally) *misfit {
	b := &f.Batches[batch]
	sp := f.locate(shop, ev, batch, ts)
	if sp.op == 0 {
		return no("op.none", string(b.Card))
	}
	k := b.index(sp.op)
	if k < 0 || k < b.firstIndex() {
		return no("op.unknown", sp.op.String(), opList(b))
	}
	if sp.rework != 0 {
		return f.checkRework(ev, &sp, b, ts)
	}
	if m := f.checkFirstOff(ev, &sp, &b.Ops[k]); m != nil {
		return m
	}
	if sp.visit < 0 {
		if m := f.checkBegin(shop, ev, batch, k, ts); m != nil {
			return m
		}
	}
	return f.checkCount(ev, &sp, b, k, ts)
}

// checkBegin says whether a new visit fits the machine and the route.
func (f *Family) checkBegin(shop *traveler.Shop, ev *event, batch, k int, ts []Tally) *misfit {
	b := &f.Batches[batch]
	o := &b.Ops[k]
	if m := barred(shop, ev, b); m != nil && ev.s.Action != traveler.ActArrive {
		return m
	}
	outside := ev.s.Action == traveler.ActSend || ev.s.Action == traveler.ActReceive || o.Outside()
	// The route of a log is what was done; no other machine was meant.
	if !outside && !ev.e.FromLog() && !shop.CanWork(ev.machine, o.WorkCentre, ev.at) {
		return ask("machine.wrong", o.Number.String(), string(o.WorkCentre), string(ev.machine))
	}
	if b.OnFloor && !f.anySeen(batch) {
		return nil
	}
	for j := b.firstIndex(); j < k; j++ {
		if !ts[j].Seen && !b.skipped(ts[j].Operation) {
			return ask("order.wrong", o.Number.String(), ts[j].Operation.String())
		}
	}
	if ts[k].Closed && ts[k].Left() == 0 && ev.s.Total() == 0 && !ev.e.FromLog() {
		return ask("op.over", o.Number.String(), num(ts[k].Counted+ts[k].Assumed))
	}
	return nil
}

func (f *Family) anySeen(batch int) bool {
	for i := range f.Visits {
		if f.Visits[i].Batch == batch {
			return true
		}
	}
	return false
}

func opList(b *Batch) string {
	s := ""
	for i := range b.Ops {
		if i > 0 {
			s += ", "
		}
		s += b.Ops[i].Number.String()
	}
	return s
}

func (f *Family) checkFirstOff(ev *event, sp *spot, o *traveler.Operation) *misfit {
	if f.Rules >= rulesFirstOff {
		if no, stands := f.rejected(sp); stands {
			return f.checkRejected(ev, sp, no)
		} else if no != nil && ev.s.Action == traveler.ActRun {
			return nil
		}
	}
	state := ""
	if sp.visit >= 0 {
		state = f.Visits[sp.visit].FirstOff
	} else if ev.s.Action == traveler.ActFirstOff && ev.s.HasCounts() {
		return ask("firstoff.none", o.Number.String())
	}
	if ev.s.Action == traveler.ActRun && o.FirstOff && state != FirstAccepted {
		return ask("firstoff.open", o.Number.String())
	}
	return nil
}

// rejected gives the last rejection of a first-off at a spot, if none passed
// since, and whether it stands: one that was overruled does not. Where none was
// decided on at the machine itself and one is wanted, the rejection of another
// machine bars this one as well, and that of the batch it was split from.
func (f *Family) rejected(sp *spot) (v *Verdict, stands bool) {
	last := f.lastVerdict(sp, sp.batch, true)
	if b := &f.Batches[sp.batch]; last == nil && b.index(sp.op) >= 0 && b.Ops[b.index(sp.op)].FirstOff {
		last = f.verdictElsewhere(sp)
	}
	if last == nil {
		return nil, false
	}
	return last.Rejected, last.Rejected != nil && !last.Rejected.Overrule
}

// verdictElsewhere is the visit whose rejection bars a spot where nothing was
// decided: at this machine before any other, and of this batch before those it
// was split from. That it passed there says nothing of here.
func (f *Family) verdictElsewhere(sp *spot) *Visit {
	for _, here := range []bool{true, false} {
		for batch := sp.batch; batch >= 0; batch = f.Index(f.Batches[batch].Parent) {
			if v := f.lastVerdict(sp, batch, here); v != nil {
				if v.Rejected == nil || v.Rejected.Overrule {
					return nil
				}
				return v
			}
		}
	}
	return nil
}

// lastVerdict is the last visit of a batch at an operation, here or at any
// machine, at which a first-off was decided on; nil = none.
func (f *Family) lastVerdict(sp *spot, batch int, here bool) *Visit {
	for i := len(f.Visits) - 1; i >= 0; i-- {
		o := &f.Visits[i]
		if o.Batch != batch || o.Operation != sp.op || o.ReworkFor != sp.rework ||
			(here && o.Machine != sp.machine) {
			continue
		}
		if o.FirstOff == FirstAccepted || o.Rejected != nil {
			return o
		}
	}
	return nil
}

// Rejection is the rejection of a first-off that bars the run of an operation at
// a machine, or nil.
func (f *Family) Rejection(batch int, op traveler.Op, machine traveler.MachineID) *Verdict {
	if f.Rules < rulesFirstOff {
		return nil
	}
	if v, stands := f.rejected(&spot{batch: batch, op: op, visit: -1, machine: machine}); stands {
		return v
	}
	return nil
}

// checkRejected bars the run after a rejected first-off: only who may pass one
// may run all the same, and says why. Good pieces that are counted without a
// run show one.
func (f *Family) checkRejected(ev *event, sp *spot, v *Verdict) *misfit {
	args := []string{sp.op.String(), string(v.By), v.Reason}
	switch s := ev.s; s.Action {
	case traveler.ActRun:
		switch {
		case !traveler.May(ev.e.By.Role, traveler.DeedVerdict):
			return no("firstoff.rejected", args...)
		case s.Anyway && s.Reason == "":
			return no("firstoff.reason", args...)
		}
		return ask("firstoff.overrule", args...)
	case traveler.ActCount, traveler.ActFinish:
		ran := sp.visit >= 0 && f.Visits[sp.visit].State == VisitRunning
		least := 1
		if s.Phase == "setup" {
			least += f.perCycle(sp) // another piece to try, not a run that goes by another name
		}
		if s.GoodPieces()+f.fromCounter(s, sp) >= least && !ran {
			return miscount("firstoff.counted", args...)
		}
	}
	return nil
}

// perCycle is how many pieces a cycle of an operation makes.
func (f *Family) perCycle(sp *spot) int {
	b := &f.Batches[sp.batch]
	if k := b.index(sp.op); k >= 0 {
		return max(1, b.Ops[k].PiecesPerCycle)
	}
	return 1
}

// firstSlack is how many pieces more than started a bar gave before the floor
// asked, under the first rules.
func firstSlack(started int) int { return max(10, started/5) }

// checkCount says whether the pieces counted can be there.
func (f *Family) checkCount(ev *event, sp *spot, b *Batch, k int, ts []Tally) *misfit {
	n := f.pieces(ev, sp)
	if n == 0 {
		return nil
	}
	t := &ts[k]
	could := t.Could
	if k == b.firstIndex() {
		if f.Rules < rulesSurplus && !t.Closed && t.ReworkOpen == 0 {
			could += firstSlack(b.Started)
		}
		if t.Counted+n > could {
			return miscount("count.started", num(b.Started), num(t.Counted+n), t.Operation.String())
		}
		return nil
	}
	if t.Counted+n > could {
		m := miscount("count.over", t.Operation.String(), num(t.Could), ts[k-1].Operation.String(),
			num(t.Counted+n))
		m.shown = true
		return m
	}
	return nil
}

// pieces is the number of pieces a scan counts; a machine's counter that is
// read says the difference from its last reading.
func (f *Family) pieces(ev *event, sp *spot) int {
	n := ev.s.Total() + f.fromCounter(ev.s, sp)
	if f.Rules >= rulesSurplus && n == 0 && ev.s.Action == traveler.ActReceive {
		return ev.s.Pieces
	}
	return n
}

// fromCounter is how many good pieces a reading of the machine's counter
// stands for, when the scan does not say itself. A counter that reads less than
// before was reset in between and counted from zero.
func (f *Family) fromCounter(s *traveler.Scan, sp *spot) int {
	if s.Reads == nil || s.Good != nil || (s.Action != traveler.ActCount && s.Action != traveler.ActFinish) {
		return 0
	}
	last := 0
	if sp.visit >= 0 && f.Visits[sp.visit].Reads != nil {
		last = *f.Visits[sp.visit].Reads
	}
	n := *s.Reads - last
	if n < 0 {
		n = *s.Reads
	}
	// Pieces that the counter saw and that were said to be lost are not good.
	return max(0, n-traveler.SumLosses(s.Scrap)-traveler.SumLosses(s.Rework)-traveler.SumLosses(
		s.Review)-s.MissingPieces())
}

func (f *Family) checkRework(ev *event, sp *spot, b *Batch, ts []Tally) *misfit {
	k := b.index(sp.rework)
	if k < 0 {
		return no("op.unknown", sp.rework.String(), opList(b))
	}
	if sp.op > sp.rework {
		return no("rework.behind", sp.op.String(), sp.rework.String())
	}
	open := ts[k].ReworkOpen
	n := f.pieces(ev, sp)
	if sp.op != sp.rework {
		n -= ev.s.GoodPieces() + f.fromCounter(ev.s, sp)
	}
	if n > open {
		return no("rework.over", sp.rework.String(), num(open), num(n))
	}
	if open == 0 && sp.visit < 0 {
		return no("rework.none", sp.rework.String())
	}
	return nil
}
