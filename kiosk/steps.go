package kiosk

import (
	"slices"
	"strconv"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// steps lists what the one who asks can say of the batch here, the likely step
// first, and what waits for someone else, as the table has it. Nor is a step
// likely where the next one is someone else's.
func (l *look) steps() ([]Step, []Notice) {
	st := &stepper{look: l, reworks: l.reworks(), reviews: l.reviews()}
	st.facts, st.values = l.facts(st), l.values()
	st.list(ListAll)
	out := unlike(st.out)
	mine := make([]Step, 0, len(out))
	for _, s := range out {
		if l.may(&s) {
			mine = append(mine, s.Step)
		}
	}
	if len(mine) > 0 && !l.isForInspector(&out[0]) {
		mine[0].Likely = true
	}
	return mine, l.others(out)
}

// stepper goes through the table for one look.
type stepper struct {
	*look
	facts            map[string]bool
	values           map[string]string
	reworks, reviews []each
	out              []formed
}

// formed is a step with the form it was made of.
type formed struct {
	Step
	form *Form
}

// each is pieces that wait at an operation, and where that can be gone on with.
type each struct {
	op, at traveler.Op
	pieces int
}

// list offers what a list of the table says.
func (st *stepper) list(name string) {
	for i := range Rules.Lists[name] {
		line := &Rules.Lists[name][i]
		if !st.holds(line.When) {
			continue
		}
		switch line.Each {
		case "rework":
			st.each(line.Do, st.reworks)
		case "review":
			st.each(line.Do, st.reviews)
		default:
			st.each(line.Do, []each{{}})
		}
		if line.End {
			return
		}
	}
}

func (st *stepper) holds(when []string) bool {
	return !slices.ContainsFunc(when, func(name string) bool {
		fact, not := strings.CutPrefix(name, "!")
		return st.facts[fact] == not
	})
}

func (st *stepper) each(do []string, of []each) {
	for _, e := range of {
		for _, name := range do {
			if list, is := strings.CutPrefix(name, "@"); is {
				st.list(list)
			} else if f := Rules.Forms[name]; !st.facts[f.Unless] {
				st.out = append(st.out, formed{st.form(&f, e), &f})
			}
		}
	}
}

// form aims a form at the batch.
func (st *stepper) form(f *Form, e each) Step {
	var args []string
	for _, name := range f.Args {
		v := st.values[name]
		if name == valueEach {
			v = e.op.String()
		}
		args = append(args, v)
	}
	s := step(f.Action, f.Needs, f.Key, args...)
	s.Phase, s.For, s.Reason = f.Phase, f.For, f.Reason
	if f.Pieces != "" {
		s.Pieces, _ = strconv.Atoi(st.values[f.Pieces]) // written in values
	}
	if f.To != "" {
		s.To, s.WorkCentre = traveler.MachineID(st.values[f.To]), traveler.WorkCentre(st.values[f.To+".wc"])
		if s.To == "" {
			s.Needs = NeedPlace
		}
	}
	st.aim(&s, f, e)
	return s
}

func (st *stepper) aim(s *Step, f *Form, e each) {
	l := st.look
	switch f.Aim {
	case aimHere, aimNew:
		l.here(s)
		if f.Aim == aimNew {
			s.Visit = ""
		}
	case aimOut:
		v := &l.f.Visits[l.outside()]
		s.Operation, s.Visit = v.Operation, v.ID
		s.Pieces = max(0, v.Wanted-v.Good-v.Scrap-v.Rework-v.Review-v.Missing)
	case aimVerdict:
		v := &l.f.Visits[l.awaitsVerdict()]
		s.Operation, s.Visit = v.Operation, v.ID
	case aimNext:
		s.Operation = l.ts[l.next].Operation
	case aimRework:
		s.For, s.Operation = e.op.String(), e.at
	case aimReview:
		s.Operation, s.Pieces = e.op, e.pieces
	}
}

// unlike leaves out steps that say the same as an earlier one.
func unlike(in []formed) []formed {
	out := in[:0]
	for _, s := range in {
		same := func(o formed) bool {
			return o.Key == s.Key && o.Operation == s.Operation && o.For == s.For && o.Phase == s.Phase &&
				o.To == s.To
		}
		if !slices.ContainsFunc(out, same) {
			out = append(out, s)
		}
	}
	return out
}

// facts are what the table's lines ask for; what is not there does not hold. The
// page has the same (kiosk/page/steps.js).
func (l *look) facts(st *stepper) map[string]bool {
	kind, _ := l.blocked()
	o, undone := l.op(), l.k >= 0 && l.canWork(l.k) && !l.over(l.k)
	done := l.next == len(l.ts)
	firsts := o != nil && o.FirstOff && (l.v == nil || l.v.ReworkFor == 0)
	facts := map[string]bool{
		"gone": kind == "joined" || kind == "cancelled", "held": kind == "held", "drawing": kind == "drawing",
		"inspection": l.machine.Kind == "inspection", "op": o != nil, "left": l.left > 0, "done": done,
		"undone": undone, "work": undone && !l.tooEarly() && l.hasWork(), "astray": l.astray(),
		"no.setup": o != nil && o.SetupMin < limits.SetupMin, "first.wanted": firsts,
		"first.due": firsts && (l.v == nil || l.v.FirstOff != story.FirstAccepted),
		"refused":   l.refusal() != nil, "verdict": l.awaitsVerdict() >= 0, "out": l.outside() >= 0,
		"next.outside": !done && l.b.Ops[l.next].Outside(), "rework": len(st.reworks) > 0,
		"review":   len(st.reviews) > 0,
		"siblings": len(siblings(l.f, l.batch)) > 0, "things": len(l.things()) > 0,
	}
	facts["barred"] = facts["refused"] && !traveler.May(l.role, traveler.DeedVerdict)
	if l.v != nil {
		facts["visit"], facts["working"] = true, l.v.State != story.VisitWaiting
		facts["passed"] = !l.v.PassedBy.IsZero()
		facts[string(l.v.State)] = true
	}
	l.paced(facts)
	_, to, known := l.carry()
	facts["to"] = known
	facts["deliver"] = done && l.atEnd() > 0
	facts["deliver.first"] = facts["deliver"] && (l.machine.Kind == "dock" || to == "")
	facts["put"] = l.isPlace() && l.b.Place != l.machine.ID &&
		(!done || (facts["deliver"] && !facts["deliver.first"]))
	// Where batches are only kept, what comes is put down before it is sent on.
	stored := l.machine.Kind == "dock" || l.machine.Kind == "stores"
	facts["put.down"] = stored && l.arrives && l.b.Place != l.machine.ID && !facts["working"]
	return facts
}

// paced are the facts that go by the time, and by what is usual at the machine.
func (l *look) paced(facts map[string]bool) {
	facts["comes"] = l.arrives && l.v == nil && l.b.Place != l.machine.ID && !facts["astray"]
	facts["trays"] = l.k > l.first() && !l.ts[l.k-1].Closed
	if l.v == nil {
		return
	}
	p := paceOf(l.shop, l.f, l.visit, l.now)
	at := p.nearly(l.left, l.op().MinPerPiece())
	facts["nearly"], facts["leaves"], facts["unset"] = !at.IsZero() &&
		!l.now.Before(at), p.leaves(l.now), p.set
}

// values are what steps say beside their operation and visit.
func (l *look) values() map[string]string {
	name, to, _ := l.carry()
	out := map[string]string{
		valueGood: strconv.Itoa(l.good()), valueDrawing: l.b.Drawing, valueEnd: strconv.Itoa(l.atEnd()),
		valueToName: name, valueTo: string(to), valueTo + ".wc": string(l.carryCentre()),
		valueHere: string(l.machine.ID),
	}
	if o := l.op(); o != nil {
		out[valueOp] = o.Number.String()
	}
	if l.next < len(l.ts) {
		out[valueNext], out[valueLeft] = l.ts[l.next].Operation.String(), strconv.Itoa(l.ts[l.next].Left())
	}
	if k := l.first(); k < len(l.ts) {
		o := &l.b.Ops[k]
		out[valueFirst], out[valueFirstWC], out[valueFirstTo] = o.Number.String(), string(
			o.WorkCentre), string(l.only(o.WorkCentre))
	}
	return out
}

// atEnd is the number of good pieces that have not been delivered.
func (l *look) atEnd() int { return l.f.Sum(l.batch).Good - l.b.Delivered() }

func (l *look) awaitsVerdict() int {
	return slices.IndexFunc(l.f.Visits, func(v story.Visit) bool {
		return v.Batch == l.batch && v.State != story.VisitFinished && v.FirstOff == story.FirstWaiting
	})
}

// outside finds the visit that is out: the one here, or that of the batch's next
// operation; -1 for none.
func (l *look) outside() int {
	if l.v != nil && l.v.State == story.VisitOutside {
		return l.visit
	}
	return slices.IndexFunc(l.f.Visits, func(v story.Visit) bool {
		return v.Batch == l.batch && v.State == story.VisitOutside && v.Open() &&
			l.next < len(l.ts) && v.Operation == l.ts[l.next].Operation
	})
}

// carry says where the batch goes next: to the next operation, or to the dock; to
// is the machine, where there is only one. It is not known where that is a place
// outside, or here.
func (l *look) carry() (name string, to traveler.MachineID, known bool) {
	if k := l.ahead(); k < len(l.ts) {
		if l.b.Ops[k].Outside() || l.canWork(k) {
			return "", "", false
		}
		wc := l.b.Ops[k].WorkCentre
		return string(wc), l.only(wc), true
	}
	if m, ok := l.dock(); ok {
		return m.Name, m.ID, true
	}
	return "", "", false
}

// carryCentre is the work centre of where the batch goes next.
func (l *look) carryCentre() traveler.WorkCentre {
	if k := l.ahead(); k < len(l.ts) {
		return l.b.Ops[k].WorkCentre
	}
	m, _ := l.dock()
	return m.WorkCentre
}

// dock is the first dock that is not this place.
func (l *look) dock() (traveler.Machine, bool) {
	for _, m := range l.shop.Machines(l.now) {
		if m.Kind == "dock" && m.ID != l.machine.ID {
			return m, true
		}
	}
	return traveler.Machine{}, false
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

// reworks are the pieces that wait for rework at an operation, where this machine
// can do it or one before it.
func (l *look) reworks() []each {
	if l.v != nil && l.v.ReworkFor != 0 {
		return nil
	}
	var out []each
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
		if at >= 0 {
			out = append(out, each{l.ts[j].Operation, l.b.Ops[at].Number, l.ts[j].ReworkOpen})
		}
	}
	return out
}

// reviews are the pieces that were set aside for an inspector.
func (l *look) reviews() []each {
	var out []each
	for j := range l.ts {
		if l.ts[j].ReviewOpen > 0 {
			out = append(out, each{l.ts[j].Operation, 0, l.ts[j].ReviewOpen})
		}
	}
	return out
}
