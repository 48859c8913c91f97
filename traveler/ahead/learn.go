package ahead

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// sample is what one operation of one batch says of the shop.
type sample struct {
	card           traveler.Code
	part           string
	op             traveler.Op
	wc             traveler.WorkCentre
	machine        traveler.MachineID // of its first visit
	first, outside bool
	alone          bool // its machine may run while nobody is there
	sure           bool // its times are not inferred
	// ready is when the batch came free for it; begun and ended are zero where it is not so far.
	ready, begun, ended time.Time
	planSetup, planRun  float64 // seconds, of what was made
	setup, run          float64 // seconds that it kept its machine, run with its stops
	made                int     // pieces
	released, due       time.Time
	prio                int
	// Of the last operation of a batch that is over.
	last      bool
	delivered time.Time // zero: nobody scanned it
}

// learnt is the samples of what has ended, by family.
type learnt struct{ of map[traveler.Code][]sample }

// learnFrom is how long the past is that is learnt from: half a year of work is
// recent enough to be true and long enough to be many.
const learnFrom = 182 * 24 * time.Hour

// forget drops what is too old to be learnt from.
func (l *learnt) forget(now time.Time) {
	for root, all := range l.of {
		if len(all) == 0 || now.Sub(all[len(all)-1].ready) > learnFrom+60*24*time.Hour {
			delete(l.of, root)
		}
	}
}

// isOver reports whether every batch of a family is done or cancelled, whatever
// is asked about it.
func isOver(f *story.Family) bool {
	for i := range f.Batches {
		if s := f.State(i); s != story.StateDone && s != story.StateCancelled {
			return false
		}
	}
	return true
}

// samplesOf makes the samples of a family.
func samplesOf(m *measure.Meter, f *story.Family) (out []sample) {
	for i := range f.Batches {
		b := m.Batch(f, i)
		if b.State == story.StateCancelled && len(b.Visits) == 0 {
			continue
		}
		out = append(out, opSamples(m, &b)...)
	}
	return out
}

// opSamples makes the samples of a batch, in the order of its route.
func opSamples(m *measure.Meter, b *story.BatchFact) (out []sample) {
	for k := range b.Ops {
		o := &b.Ops[k]
		s := sample{
			card: b.Card, part: b.Part, op: o.Operation, wc: o.WorkCentre, first: k == 0 && b.Parent == "",
			outside:  o.Outside,
			released: b.Released, due: b.Due, prio: b.Priority, sure: !o.Inferred,
			made: max(o.Presented, o.In), planSetup: o.PlanSetup.Seconds(),
			planRun: o.PlanPiece.Seconds() * float64(max(o.Presented, o.In)),
		}
		if s.visits(m, b) {
			out = append(out, s)
		}
	}
	if n := len(out); n > 0 && b.State == story.StateDone {
		s := &out[n-1]
		s.last = !s.ended.IsZero()
		if d := b.Deliveries; len(d) > 0 && s.last {
			s.delivered = d[len(d)-1].At
		}
	}
	return out
}

// visits takes what the first-pass visits of its operation say; false when there
// are none that began.
func (s *sample) visits(m *measure.Meter, b *story.BatchFact) bool {
	goesOn := false
	for i := range b.Visits {
		v := &b.Visits[i]
		if v.Operation != s.op || v.ReworkFor != 0 || v.Begun.IsZero() {
			continue
		}
		if s.begun.IsZero() {
			s.begun, s.machine = v.Begun, v.Machine
			s.ready = v.Begun.Add(-(v.Parts.Transport + v.Parts.Queue + v.Parts.Between))
			s.alone = m.Shop.Unattended(v.Machine, v.Begun)
		}
		s.setup += (v.Parts.Setup + max(0, v.Parts.FirstOff-v.Shut)).Seconds()
		s.run += v.Parts.Run.Seconds()
		for _, x := range v.Stops {
			s.run += x.Open.Seconds()
		}
		if v.Ended.IsZero() {
			goesOn = true
		} else if v.Ended.After(s.ended) {
			s.ended = v.Ended
		}
	}
	if goesOn {
		s.ended = time.Time{}
	}
	return !s.begun.IsZero()
}
