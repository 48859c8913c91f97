package study

// Range is what a route comes to, in one figure, when all that is uncertain of
// it goes well together, and when all of it goes badly together. It is wider
// than what is likely: it says what the assumptions allow, not a confidence.
func (r *Route) Range(size float64, c *Costs, figure Figure) (low, high float64) {
	best, worst := *r, *r
	best.Steps, worst.Steps = nil, nil
	for k := range r.Steps {
		b, w := r.Steps[k], r.Steps[k]
		b.SetUp.Likely, w.SetUp.Likely = b.SetUp.Low, w.SetUp.High
		b.Piece.Likely, w.Piece.Likely = b.Piece.Low, w.Piece.High
		b.Yield.Likely, w.Yield.Likely = b.Yield.High, w.Yield.Low
		best.Steps, worst.Steps = append(best.Steps, b), append(worst.Steps, w)
	}
	x, y := best.Of(size, c), worst.Of(size, c)
	return min(figure(&x), figure(&y)), max(figure(&x), figure(&y))
}
