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
// least squares within parts, with an interval by t from the batches' own
// scatter, so that a bad batch counts as one bad batch. There is no interval
// before one part has been clamped in two ways, by enough batches each. The zero
// value is ready.
type Clampings struct {
	parts map[string][]clamped
}

// Add counts a batch that is done.
func (s *Clampings) Add(b *story.BatchFact) {
	if !b.Finished() {
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
		if within := centre(s.parts[part], out.Parts); within != nil {
			out.Parts++
			all = append(all, within...)
		}
	}
	out.Batches = len(all)
	for i := range all {
		out.Pieces += all[i].pieces
	}
	out.fit(all)
	return out
}

// clamped is an observation: the loss of a batch on a route, and the clampings
// it had.
type clamped struct {
	x, y   float64 // clampings; part of the pieces lost
	pieces int
	weight float64
	lost   bool // any
	cell   cell
}

// likeness is how alike the pieces of one batch are reckoned to be, for the
// weight of a batch: one of 200 pieces does not count ten times as much as one of
// 20.
const likeness = 0.05

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
		if o.pieces == 0 {
			o.pieces = came
			o.weight = float64(came) / (1 + float64(came-1)*likeness)
		}
		o.x += float64(op.Clampings)
		// Of those that came in here, not of those that were started.
		o.y += math.Min(1, float64(lost[op.Operation])/float64(came))
		o.lost = o.lost || lost[op.Operation] > 0
	}
	return o, o.weight > 0
}

// centre takes the weighted means of a part off; nil when all its batches were
// clamped alike, so that it shows nothing.
func centre(list []clamped, part int) []clamped {
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
		o.cell = cell{part, int(o.x)}
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
	if sxx <= 0 || !enoughOfEach(all) {
		return
	}
	slope := sxy / sxx
	variance, free := slopeVariance(all, slope, sxx)
	if !(variance > 0) {
		return
	}
	half := stat.TQuantile((1+measure.Confidence)/2, free) * math.Sqrt(variance)
	c.PerClamping = Value{slope - half, slope, slope + half, Measured, len(all)}
	c.Known = true
}

// cell is batches of one part that were clamped as often.
type cell struct{ part, clampings int }

// enoughOfEach reports whether at least two numbers of clampings stand on so many
// batches each that an interval holds what it says.
func enoughOfEach(all []clamped) bool {
	n, hit := map[cell]int{}, map[cell]int{}
	for _, o := range all {
		n[o.cell]++
		if o.lost {
			hit[o.cell]++
		}
	}
	parts := map[int]int{}
	for k := range n {
		if n[k] >= FewForInterval && hit[k] >= Few {
			parts[k.part]++
		}
	}
	for _, k := range parts {
		if k >= 2 {
			return true
		}
	}
	return false
}

// slopeVariance is that of the slope from the batches' own scatter, corrected for
// its bias: each residual as if its own batch had not drawn the line towards it
// (HC3, MacKinnon and White, Journal of Econometrics 29, 1985). Its degrees of
// freedom are Satterthwaite's, of cells that scatter as they do (Welch 1947; Bell
// and McCaffrey, Survey Methodology 28, 2002).
func slopeVariance(all []clamped, slope, sxx float64) (variance, free float64) {
	weight, n, of := map[int]float64{}, map[cell]float64{}, map[cell]float64{}
	for _, o := range all {
		weight[o.cell.part] += o.weight
		n[o.cell]++
	}
	for _, o := range all {
		u := o.weight * o.x * (o.y - slope*o.x) / sxx
		leverage := o.weight/weight[o.cell.part] + o.weight*o.x*o.x/sxx
		left := math.Max(0.2, 1-leverage)
		v := u * u / (left * left)
		variance += v
		of[o.cell] += v
	}
	sum := 0.0
	for k, v := range of {
		sum += v * v / math.Max(1, n[k]-1)
	}
	if sum == 0 {
		return 0, 0
	}
	return variance, math.Max(1, variance*variance/sum)
}
