package measure

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// LossBy says by what losses are added up.
type LossBy string

// What losses can be added up by.
const (
	LossByReason    LossBy = "reason"
	LossByFound     LossBy = "found"  // operation where they were found
	LossByCaused    LossBy = "caused" // operation that caused them
	LossByPart      LossBy = "part"
	LossByMachine   LossBy = "machine"
	LossByClampings LossBy = "clampings" // clampings of the operation that caused them
)

// LossKind is what was lost.
type LossKind string

// The kinds of loss.
const (
	LossScrap  LossKind = "scrap"
	LossRework LossKind = "rework"
	LossReview LossKind = "review"
	LossStop   LossKind = "stop"
)

// Loss is a bar of a Pareto chart.
type Loss struct {
	Key     string
	Events  int     // visits with such a loss, or stops
	Pieces  int     // none for stops
	Minutes float64 // work already in the pieces, by plan; of a stop, how long it stood in open time
	Cost    float64 // the same at the rates of the machines
	Rated   bool    // every minute of it has a rate
	Batches int
}

// Rates gives what an hour costs.
type Rates interface {
	// Machine is the rate of a machine at a moment; Centre the mean of those of
	// a work centre's machines. 0 = not known.
	Machine(id traveler.MachineID, at time.Time) float64
	Centre(wc traveler.WorkCentre, at time.Time) float64
}

// Losses adds up the losses of a kind. The minutes in a scrapped piece are the
// planned ones of all operations up to the one where it was found; pieces sent
// to rework or set aside for review are not lost yet: theirs are those of the
// operation that has to be done again. What was decided about pieces set aside
// counts as what it was decided to be, at the visit that set them aside; under
// review stands each piece that ever was.
type Losses struct {
	Kind  LossKind
	By    LossBy
	Rates Rates
	// Op leaves only what was caused at an operation, found at it when losses are
	// added up by that, or stood still at it; 0 = all.
	Op traveler.Op
	// Machine leaves only what was found at a machine, or stood still at it; empty
	// = all.
	Machine traveler.MachineID

	out  []Loss
	at   map[string]int
	last map[string]traveler.Code
}

// Result is the bars, the costliest first, or the longest where rates are not
// known.
func (s *Losses) Result() []Loss {
	slices.SortFunc(s.out, func(a, b Loss) int {
		return cmp.Or(cmp.Compare(b.Cost, a.Cost), cmp.Compare(b.Minutes, a.Minutes),
			cmp.Compare(b.Pieces, a.Pieces), cmp.Compare(a.Key, b.Key))
	})
	return s.out
}

// Reset forgets what was added. Its memory is used again.
func (s *Losses) Reset() {
	s.out = s.out[:0]
	clear(s.at)
	clear(s.last)
}

// Add counts a batch.
func (s *Losses) Add(b *story.BatchFact) {
	for i := range b.Visits {
		v := &b.Visits[i]
		if s.Machine != "" && s.Machine != v.Machine {
			continue
		}
		if s.Kind == LossStop {
			if s.Op != 0 && s.Op != v.Operation {
				continue
			}
			for _, x := range v.Stops {
				rate := s.Rates.Machine(v.Machine, v.Arrived)
				s.add(b, s.key(b, v, x.Reason, v.Operation), 0, x.Open.Minutes(), x.Open.Hours()*rate,
					rate > 0)
			}
			continue
		}
		for _, l := range v.Losses {
			if l.Outcome == string(s.Kind) && s.wants(&l) {
				minutes, cost, rated := s.inPiece(b, l.FoundAt, v.Arrived)
				s.add(b, s.key(b, v, l.Reason, l.Caused), l.N, minutes*float64(l.N), cost*float64(l.N), rated)
			}
		}
	}
}

func (s *Losses) wants(l *story.LossFact) bool {
	if s.By == LossByFound {
		return s.Op == 0 || s.Op == l.FoundAt
	}
	return s.Op == 0 || s.Op == l.Caused
}

// inPiece is the planned work in a piece of a batch that was lost at an
// operation, in minutes and at the rates.
func (s *Losses) inPiece(b *story.BatchFact, found traveler.Op, at time.Time) (minutes, cost float64,
	rated bool) {
	rated = true
	for i := range b.Ops {
		o := &b.Ops[i]
		if o.Operation > found || o.Outside || s.Kind != LossScrap && o.Operation != found {
			continue
		}
		rate := s.Rates.Centre(o.WorkCentre, at)
		rated = rated && rate > 0
		minutes += o.PlanPiece.Minutes()
		cost += o.PlanPiece.Hours() * rate
	}
	return minutes, cost, rated
}

func (s *Losses) key(b *story.BatchFact, v *story.VisitFact, reason string, caused traveler.Op) string {
	switch s.By {
	case LossByFound:
		return b.Part + "/" + b.Rev + "/" + v.Operation.String()
	case LossByCaused:
		return b.Part + "/" + b.Rev + "/" + caused.String()
	case LossByPart:
		return b.Part
	case LossByMachine:
		return string(v.Machine)
	case LossByClampings:
		for i := range b.Ops {
			if b.Ops[i].Operation == caused {
				return traveler.Op(b.Ops[i].Clampings).String()
			}
		}
		return "0"
	}
	return reason
}

// Merge adds bars of other batches.
func (s *Losses) Merge(bars []Loss) {
	for i := range bars {
		l, x := &bars[i], s.bar(bars[i].Key)
		x.Events, x.Pieces, x.Batches = x.Events+l.Events, x.Pieces+l.Pieces, x.Batches+l.Batches
		x.Minutes, x.Cost, x.Rated = x.Minutes+l.Minutes, x.Cost+l.Cost, x.Rated && l.Rated
	}
}

// bar is the bar of a key, a new one if there is none yet.
func (s *Losses) bar(key string) *Loss {
	if s.at == nil {
		s.at, s.last = map[string]int{}, map[string]traveler.Code{}
	}
	i, ok := s.at[key]
	if !ok {
		i = len(s.out)
		s.at[key] = i
		s.out = append(s.out, Loss{Key: key, Rated: true})
	}
	return &s.out[i]
}

func (s *Losses) add(b *story.BatchFact, key string, n int, minutes, cost float64, rated bool) {
	x := s.bar(key)
	x.Events++
	x.Pieces += n
	x.Minutes += minutes
	x.Cost += cost
	x.Rated = x.Rated && rated
	if s.last[key] != b.Card {
		s.last[key] = b.Card
		x.Batches++
	}
}
