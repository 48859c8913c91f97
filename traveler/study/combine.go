package study

import (
	"math"
	"slices"

	"tallywalk/traveler"
)

// Combination says which operations of a route are to be done in one set-up on
// a machine.
type Combination struct {
	Operations []traveler.Op // in this one set-up
	Second     []traveler.Op // of these, those that a second spindle does while the first cuts
	WorkCentre traveler.WorkCentre
	Rate       float64
	SetUp      Value // minutes; zero = proposed
	Faster     Value // cutting time against today's: 1 = the same; zero = 1
	OneOff     float64
	PerClamp   Value // part of the pieces lost with each clamping; zero = unknown, 0
	Turnovers  int   // clampings in the new set-up; 0 = 1
}

// Combined proposes a route in which those operations are one. Its other
// operations stay as they are. What the new operation takes is predicted:
//
//   - cutting adds up over the first spindle's operations; the second spindle's
//     run beside them, so that the longer of the two counts; pieces are loaded
//     once;
//   - the set-up is as long as those of the operations together, unless one is
//     given: one set-up is often longer to set than any, and this is the
//     assumption to look at first;
//   - the yield is that of the operations without the loss of the clampings that
//     fall away, as this shop's loss for each clamping shows.
//
// It lies where the first of them was. ok is false when no operation is named.
func Combined(r *Route, c *Combination) (Route, bool) {
	out := Route{Name: r.Name, OneOff: r.OneOff + c.OneOff}
	var parts []Step
	placed := -1
	for _, s := range r.Steps {
		if !slices.Contains(c.Operations, s.Operation) || s.Outside {
			out.Steps = append(out.Steps, s)
			continue
		}
		if placed < 0 {
			placed = len(out.Steps)
			out.Steps = append(out.Steps, Step{Operation: s.Operation})
		}
		parts = append(parts, s)
	}
	if placed < 0 {
		return out, false
	}
	out.Steps[placed] = c.one(parts)
	// The next operation is carried from another place now; how far is for the
	// plan to say.
	return out, true
}

// one is the new operation.
func (c *Combination) one(parts []Step) Step {
	first := parts[0]
	out := Step{
		Operation: first.Operation, WorkCentre: c.WorkCentre, Rate: c.Rate, Clampings: max(1, c.Turnovers),
		Wait: first.Wait, Metres: first.Metres,
		Load: first.Load, SetUp: c.SetUp,
	}
	if c.SetUp == (Value{}) {
		for _, p := range parts {
			out.SetUp = plus(out.SetUp, p.SetUp)
		}
		out.SetUp.Source = Assumed
	}
	faster := c.Faster
	if faster == (Value{}) {
		faster = Sure(1, Assumed)
	}
	out.Piece = Value{Source: Assumed}
	for _, x := range []struct {
		of   pick
		f    float64
		into *float64
	}{
		{func(v Value) float64 { return v.Low }, faster.Low, &out.Piece.Low},
		{likely, faster.Likely, &out.Piece.Likely},
		{func(v Value) float64 { return v.High }, faster.High, &out.Piece.High},
	} {
		*x.into = c.cycle(parts, x.of, x.f)
	}
	out.Yield = c.yield(parts, out.Clampings)
	return out
}

// cycle is the time of a piece: the spindles side by side, and loading once.
func (c *Combination) cycle(parts []Step, of pick, faster float64) float64 {
	var first, second, load float64
	for i, p := range parts {
		cut := math.Max(0, of(p.Piece)-p.Load) * faster
		if i == 0 {
			load = p.Load
		}
		if slices.Contains(c.Second, p.Operation) {
			second += cut
		} else {
			first += cut
		}
	}
	return math.Max(first, second) + load
}

// yield takes the loss of the clampings away that there will not be.
func (c *Combination) yield(parts []Step, clampings int) Value {
	was, y := 0, Sure(1, Assumed)
	for _, p := range parts {
		was += p.Clampings
		y.Low, y.Likely, y.High = y.Low*p.Yield.Low, y.Likely*p.Yield.Likely, y.High*p.Yield.High
		y.N = max(y.N, p.Yield.N)
	}
	saved := float64(was - clampings)
	gain := func(loss float64) float64 { return math.Pow(1-math.Min(0.99, math.Max(0, loss)), saved) }
	y.Low, y.Likely, y.High = y.Low/gain(c.PerClamp.Low), y.Likely/gain(c.PerClamp.Likely), y.High/gain(
		c.PerClamp.High)
	y.Low, y.Likely, y.High = math.Min(1, y.Low), math.Min(1, y.Likely), math.Min(1, y.High)
	return y
}

func plus(a, b Value) Value {
	return Value{a.Low + b.Low, a.Likely + b.Likely, a.High + b.High, b.Source, max(a.N, b.N)}
}

// Release is the proposal as a route revision to be released.
func (r *Route) Release(from *traveler.Route, rev string) traveler.Route {
	out := *from
	out.Rev, out.Operations = rev, nil
	for _, s := range r.Steps {
		o := traveler.Operation{Number: s.Operation, WorkCentre: s.WorkCentre, PiecesPerCycle: 1,
			Clampings: s.Clampings}
		if k := from.Index(s.Operation); k >= 0 {
			old := from.Operations[k]
			if old.WorkCentre == s.WorkCentre {
				out.Operations = append(out.Operations, old)
				continue
			}
			o.Instruction, o.FirstOff = old.Instruction, old.FirstOff
		}
		o.SetupMin, o.CycleMin, o.LoadMin = round2(s.SetUp.Likely), round2(s.Piece.Likely), round2(
			math.Min(s.Load, s.Piece.Likely))
		if y := s.Yield.Likely; y > 0 && y < 1 {
			o.Yield = math.Round(y*1000) / 1000
		}
		out.Operations = append(out.Operations, o)
	}
	return out
}

func round2(x float64) float64 { return math.Round(x*100) / 100 }
