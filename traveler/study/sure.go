package study

import (
	"math"

	"tallywalk/traveler/measure"
	"tallywalk/traveler/stat"
)

// Stretch is batch sizes at which one route is surely the better one, or at
// which it is not sure which one is.
type Stretch struct {
	From   int  `json:"from"`
	To     int  `json:"to"`
	Sure   bool `json:"told"`
	Second bool `json:"second"` // the second route is better, where that is sure
}

// Along says at which of the sizes, in order, which of two routes is the better
// one in a figure of which less is better. Where both were measured, it is sure
// when a 95 % band of the difference, for all sizes together, leaves zero out; else when
// even the best of the one is above the worst of the other.
func Along(a, b *Samples, sizes []int, c *Costs, figure Figure) []Stretch {
	var out []Stretch
	measured := a.done >= FewForInterval && b.done >= FewForInterval
	for _, q := range sizes {
		low, high := 0.0, 0.0
		if measured {
			low, high = differs(a, b, float64(q), c, figure)
		} else {
			al, ah := a.route.Range(float64(q), c, figure)
			bl, bh := b.route.Range(float64(q), c, figure)
			low, high = bl-ah, bh-al
		}
		s := Stretch{q, q, high < 0 || low > 0, high < 0}
		if n := len(out); n > 0 && out[n-1].Sure == s.Sure && out[n-1].Second == s.Second {
			out[n-1].To = q
			continue
		}
		out = append(out, s)
	}
	return out
}

// differs is the interval of the second's figure less the first's, as wide as all
// sizes together demand: along batch sizes a difference has two parts, that of a
// batch and that of a piece, so the band is Scheffe's for two (Working and
// Hotelling 1929; Scheffe 1959), batches being the unit.
func differs(a, b *Samples, size float64, c *Costs, figure Figure) (low, high float64) {
	x, y := newFunctional(a, []Figure{figure}, size, c), newFunctional(b, []Figure{figure}, size, c)
	d, se, free := y.value[0]-x.value[0], math.Hypot(x.se[0], y.se[0]),
		welchFree(x.se[0], y.se[0], len(a.rows), len(b.rows))
	w := stat.BandQuantile(measure.Confidence, 2, free) * se
	return d - w, d + w
}

// welchFree is the degrees of freedom of a difference (Welch 1947).
func welchFree(seA, seB float64, a, b int) float64 {
	va, vb := seA*seA, seB*seB
	free := (va + vb) * (va + vb) / (va*va/float64(max(1, a-1)) + vb*vb/float64(max(1, b-1)))
	if !(free >= 1) {
		return 1
	}
	return free
}
