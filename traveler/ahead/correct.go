package ahead

import (
	"sort"
	"time"
)

// Correction is what past forecasts say about how to read the next ones, by how far
// ahead they lie. Nil corrects nothing.
type Correction struct{ done, delivered shifts }

// shifts are of one kind of date: which level of the draws is to be said for 50 and
// for 85 %, and how many seconds to add to that of 95 %. 0 leaves them as they are.
//
// The two that are quoted are corrected by level and not by time, for dates come in
// lumps: a batch leaves with today's van or tomorrow's, and an hour more says nothing.
// Of 95 % the right level often lies beyond all draws; there only time can be added.
type shifts struct {
	level [2][classes]float64
	late  [classes]float64
}

func (c *Correction) of(k kind) *shifts {
	if c == nil {
		return &shifts{}
	}
	if k == ofDone {
		return &c.done
	}
	return &c.delivered
}

// levels are the levels that are said.
var levels = [3]float64{0.5, 0.85, 0.95}

// gridLevels are those at which the draws of a date are kept.
var gridLevels = [...]float64{.02, .1, .2, .3, .4, .5, .6, .7, .8, .85, .9, .95, .99}

// Where the median, P85 and P95 stand among them.
const gridP50, gridP85, gridP95 = 5, 9, 11

// grid is percentiles of the draws of a date, seconds from when it was forecast.
type grid [len(gridLevels)]float32

// said is what is said of one date, in seconds from when it was said, by levels.
type said [len(levels)]float64

// rawOf is the grid of sorted draws.
func rawOf(draws []float32) (g grid) {
	for i, level := range gridLevels {
		g[i] = float32(quantile(draws, level))
	}
	return g
}

// at is the percentile at a level, with straight lines between those of the grid.
func (g *grid) at(level float64) float64 {
	i := sort.SearchFloat64s(gridLevels[:], level)
	switch {
	case i == 0:
		return float64(g[0])
	case i == len(g):
		return float64(g[i-1])
	}
	f := (level - gridLevels[i-1]) / (gridLevels[i] - gridLevels[i-1])
	return float64(g[i-1]) + f*float64(g[i]-g[i-1])
}

// levelOf is the level of a moment among the draws: 0 before all, 1 after all of them.
func (g *grid) levelOf(at float64) float64 {
	i := sort.Search(len(g), func(i int) bool { return float64(g[i]) >= at })
	switch {
	case i == 0:
		return gridLevels[0] / 2
	case i == len(g):
		return 1
	}
	a, b := float64(g[i-1]), float64(g[i])
	return gridLevels[i-1] + (at-a)/(b-a)*(gridLevels[i]-gridLevels[i-1])
}

// horizonDays are the lower bounds of horizons, in days: of the median, from now.
var horizonDays = [...]float64{0, 1, 3, 6, 10, 15, 22}

// horizonOf is the horizon of a median so many seconds ahead.
func horizonOf(secs float64) int {
	return max(0, sort.Search(len(horizonDays), func(i int) bool { return horizonDays[i]*86400 > secs })-1)
}

// classOf is the class of a batch that stands so, with a median so far ahead.
func classOf(st stage, median float64) int {
	if st == finished {
		return finishedClass
	}
	return horizonOf(median)
}

// apply says what draws come to; nothing is before now, and a higher level is never
// earlier than a lower one.
func (s *shifts) apply(raw *grid, class int) (out said) {
	for l := range s.level {
		level := s.level[l][class]
		if level == 0 {
			level = levels[l]
		}
		out[l] = max(0, raw.at(level))
	}
	out[1] = max(out[0], out[1])
	out[2] = max(out[1], float64(raw[gridP95])+s.late[class])
	return out
}

// both says what the draws of the last operation and of the delivery come to. Each is
// corrected by its own past; but nothing is delivered before its last operation ends.
func (c *Correction) both(done, delivered *grid, class int) (out [kinds]said) {
	out[ofDone], out[ofDelivered] = c.of(ofDone).apply(done, class), c.of(ofDelivered).apply(delivered, class)
	for l := range out[ofDone] {
		out[ofDone][l] = min(out[ofDone][l], out[ofDelivered][l])
	}
	return out
}

// dates are moments for seconds from now.
func (s said) dates(at func(float64) time.Time) Dates { return Dates{at(s[0]), at(s[1]), at(s[2])} }

// chance is the corrected chance that a date comes by a moment: the level of the draws
// is read as the correction reads its neighbours.
func (s *shifts) chance(draws []float32, class int, by float64) float64 {
	if by <= 0 || len(draws) == 0 {
		return 0
	}
	raw := share(draws, by)
	from, to := [4]float64{0, .5, .85, 1}, [4]float64{0, .5, .85, 1}
	for l := range s.level {
		if x := s.level[l][class]; x != 0 {
			from[l+1] = x
		}
	}
	for i := 1; i < len(from); i++ {
		if raw <= from[i] && from[i] > from[i-1] {
			return to[i-1] + (raw-from[i-1])/(from[i]-from[i-1])*(to[i]-to[i-1])
		}
	}
	return 1
}

// share is the share of sorted draws that are not after a moment.
func share(draws []float32, by float64) float64 {
	i := sort.Search(len(draws), func(i int) bool { return float64(draws[i]) > by })
	return float64(i) / float64(len(draws))
}
