package study

import (
	"maps"
	"math"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
)

// ClampingLoss is how many more pieces are lost with each clamping, in this
// shop's own history: an association, not a cause. Other things differ between
// operations that clamp once and those that clamp twice.
type ClampingLoss struct {
	PerClamping Value // part of the pieces lost with each; Low and High are a 95 % interval
	Known       bool
	Parts       int // with operations, or routes, of different numbers of clampings
	Batches     int // of those parts
	Pieces      int
}

// Clampings estimates the loss of a clamping within parts. Each batch is one
// observation: its pieces lost by where they were caused, summed along its
// route, against the clampings of the operations it went through. The slope is
// least squares within parts, weighted by pieces, with an interval by t from the
// batches' own scatter (the sandwich of White 1980, in its small-sample form
// HC2), so that a bad batch counts as one bad batch. The zero value is ready.
type Clampings struct {
	parts map[string][]clamped
}

// Add counts a batch that is done.
func (s *Clampings) Add(b *story.BatchFact) {
	if b.State != story.StateDone || b.Joined != "" {
		return
	}
	if s.parts == nil {
		s.parts = map[string][]clamped{}
	}
	if o, ok := clampedOf(b); ok {
		s.parts[b.Part] = append(s.parts[b.Part], o)
	}
}

// Result is the loss of a clamping.
func (s *Clampings) Result() ClampingLoss {
	out := ClampingLoss{}
	var all []clamped
	for _, part := range slices.Sorted(maps.Keys(s.parts)) {
		if within := centre(s.parts[part]); within != nil {
			out.Parts++
			all = append(all, within...)
		}
	}
	out.Batches = len(all)
	for i := range all {
		out.Pieces += int(all[i].weight)
	}
	out.fit(all)
	return out
}

// clamped is an observation: the loss of a batch on a route, and the clampings
// it had.
type clamped struct {
	x, y   float64 // clampings; part of the pieces lost
	weight float64 // pieces
}

// clampedOf gives the observation of a batch: its loss over the whole route, as
// a sum of what each operation caused.
func clampedOf(b *story.BatchFact) (o clamped, ok bool) {
	lost := map[traveler.Op]int{}
	for i := range b.Visits {
		for _, l := range b.Visits[i].Losses {
			if l.Outcome == string(measure.LossScrap) {
				lost[l.Caused] += l.N
			}
		}
	}
	for i := range b.Ops {
		op := &b.Ops[i]
		came := op.Presented
		if came <= 0 {
			continue
		}
		if o.weight == 0 {
			o.weight = float64(came)
		}
		o.x += float64(op.Clampings)
		// Of those that came in here, not of those that were started.
		o.y += math.Min(1, float64(lost[op.Operation])/float64(came))
	}
	return o, o.weight > 0
}

// centre takes the weighted means of a part off; nil when all its batches were
// clamped alike, so that it cannot tell anything.
func centre(list []clamped) []clamped {
	var w, x, y float64
	same := true
	for _, o := range list {
		w, x, y = w+o.weight, x+o.weight*o.x, y+o.weight*o.y
		same = same && o.x == list[0].x
	}
	if same || w == 0 {
		return nil
	}
	out := make([]clamped, len(list))
	for i, o := range list {
		o.x, o.y = o.x-x/w, o.y-y/w
		out[i] = o
	}
	return out
}

// fit draws the line within parts.
func (c *ClampingLoss) fit(all []clamped) {
	var sxx, sxy float64
	for _, o := range all {
		sxx, sxy = sxx+o.weight*o.x*o.x, sxy+o.weight*o.x*o.y
	}
	free := len(all) - c.Parts - 1
	if sxx <= 0 || free < 3 {
		return
	}
	slope := sxy / sxx
	meat := 0.0
	for _, o := range all {
		u := o.weight * o.x * (o.y - slope*o.x)
		leverage := o.weight * o.x * o.x / sxx
		meat += u * u / math.Max(0.05, 1-leverage)
	}
	se := math.Sqrt(meat) / sxx
	t := stat.TQuantile((1+measure.Confidence)/2, float64(free))
	c.PerClamping = Value{slope - t*se, slope, slope + t*se, Measured, len(all)}
	c.Known = true
}
