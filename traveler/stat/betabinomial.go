package stat

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// BetaBinomialLog is the logarithm of the probability of k out of n where each
// batch has a yield of its own, drawn from a beta distribution (Skellam 1948).
// alpha and beta are above 0, k from 0 to n.
func BetaBinomialLog(k, n int, alpha, beta float64) float64 {
	a, b := float64(k), float64(n-k)
	return -math.Log(float64(n+1)) - mathext.Lbeta(a+1, b+1) + mathext.Lbeta(a+alpha,
		b+beta) - mathext.Lbeta(alpha, beta)
}

// spreads are the correlations of pieces of one batch that are reckoned with: 0
// means that pieces are lost one by one, .01 at a yield of .9 that the yields of
// batches have a standard deviation of .03.
var spreads = []float64{1e-6, .0005, .001, .002, .004, .007, .012, .02, .035, .06, .1, .17}

// betaOf gives the beta distribution of a mean and a correlation.
func betaOf(mean, rho float64) (alpha, beta float64) {
	k := 1/rho - 1
	return mean * k, (1 - mean) * k
}

// SpreadPrior is how much the yields of batches differ in a shop, beyond chance:
// a weight for each spread. The zero value knows of no shop: small spreads are
// as likely as large ones, on a scale of ratios.
type SpreadPrior struct{ weight []float64 }

// shopPart is how much of a prior comes from the shop's own routes; the rest is
// for what these have not shown yet.
const shopPart = 0.6

// ShopSpreads learns from a shop how much batches differ: routes holds, for each
// route, what its batches gave. Method: empirical Bayes, the weights of the
// spreads by EM from the beta-binomial likelihood of each route at its own mean
// (nonparametric maximum likelihood, Laird 1978, on a grid).
func ShopSpreads(routes [][]Share) SpreadPrior {
	var like [][]float64
	for _, batches := range routes {
		if l := spreadLikelihood(batches); l != nil {
			like = append(like, l)
		}
	}
	even := SpreadPrior{}.weights()
	if len(like) == 0 {
		return SpreadPrior{}
	}
	w := slices.Clone(even)
	for range 60 {
		next := make([]float64, len(w))
		for _, l := range like {
			sum := 0.0
			for g := range w {
				sum += w[g] * l[g]
			}
			for g := range w {
				next[g] += w[g] * l[g] / sum / float64(len(like))
			}
		}
		w = next
	}
	for g := range w {
		w[g] = shopPart*w[g] + (1-shopPart)*even[g]
	}
	return SpreadPrior{w}
}

func (s SpreadPrior) weights() []float64 {
	if s.weight != nil {
		return s.weight
	}
	out := make([]float64, len(spreads))
	for g := range out {
		out[g] = 1 / float64(len(spreads))
	}
	return out
}

// spreadLikelihood is that of each spread, the largest being 1; nil for fewer
// than two batches, or where every piece, or none, is good: that shows nothing.
func spreadLikelihood(batches []Share) []float64 {
	all := pooled(batches)
	if len(batches) < 2 || all.Count == 0 || all.Count == all.Of {
		return nil
	}
	logs := make([]float64, len(spreads))
	for g, rho := range spreads {
		logs[g] = logLikelihood(batches, all.Part(), rho)
	}
	return scaled(logs)
}

func scaled(logs []float64) []float64 {
	most := slices.Max(logs)
	for i := range logs {
		logs[i] = math.Exp(logs[i] - most)
	}
	return logs
}

func pooled(batches []Share) (all Share) {
	for _, b := range batches {
		all.Count, all.Of = all.Count+b.Count, all.Of+b.Of
	}
	return all
}

func logLikelihood(batches []Share, mean, rho float64) (sum float64) {
	alpha, beta := betaOf(mean, rho)
	for _, b := range batches {
		sum += mathext.Lbeta(float64(b.Count)+alpha, float64(b.Of-b.Count)+beta) - mathext.Lbeta(alpha, beta)
	}
	return sum
}

// NextYield is what the yield of the next batch may be: how likely each is.
type NextYield struct {
	yield, weight []float64
}

// pointsOfYield is in how many steps a yield is taken; and of its mean.
const (
	pointsOfYield = 250
	pointsOfMean  = 31
)

// NextYieldOf is what the next batch may yield after those that there were: over
// what the mean may be, and how much batches differ, of which a few batches
// often show nothing and the shop knows more. Without batches it is the zero
// value.
func NextYieldOf(batches []Share, prior SpreadPrior) NextYield {
	batches = slices.DeleteFunc(slices.Clone(batches), func(b Share) bool { return b.Of == 0 || !b.valid() })
	all := pooled(batches)
	if all.Of == 0 {
		return NextYield{}
	}
	means, step := meansAround(all, len(batches))
	weights := prior.weights()
	var logs, at []float64
	var rhos []float64
	for g, rho := range spreads {
		for _, m := range means {
			// Evenly spaced on the logit scale, even on that of yields.
			logs = append(logs, math.Log(weights[g]*m*(1-m)*step)+logLikelihood(batches, m, rho))
			at, rhos = append(at, m), append(rhos, rho)
		}
	}
	return mixed(at, rhos, scaled(logs))
}

// NextYieldAt is what the next batch may yield if the mean is known, or assumed.
func NextYieldAt(mean float64, prior SpreadPrior) NextYield {
	if !(mean > 0 && mean <= 1) {
		return NextYield{}
	}
	if mean == 1 {
		return NextYield{[]float64{1}, []float64{1}}
	}
	at := make([]float64, len(spreads))
	for g := range at {
		at[g] = mean
	}
	return mixed(at, spreads, slices.Clone(prior.weights()))
}

// meansAround are the means that are reckoned with: those within five standard
// errors, if batches differed much, on the logit scale.
func meansAround(all Share, batches int) (means []float64, step float64) {
	p := (float64(all.Count) + .5) / (float64(all.Of) + 1)
	each := float64(all.Of) / float64(batches)
	se := math.Sqrt((1 + each*.05) / (float64(all.Of) + 1) / (p * (1 - p)))
	se = math.Min(se, 1.2)
	step = 10 * se / (pointsOfMean - 1)
	for i := range pointsOfMean {
		l := math.Log(p/(1-p)) + (float64(i)-(pointsOfMean-1)/2)*step
		means = append(means, 1/(1+math.Exp(-l)))
	}
	return means, step
}

// mixed lays the beta distributions of means and spreads over each other.
func mixed(means, rhos, weight []float64) NextYield {
	total := 0.0
	for _, w := range weight {
		total += w
	}
	y := NextYield{make([]float64, pointsOfYield), make([]float64, pointsOfYield)}
	for i := range pointsOfYield {
		y.yield[i] = yieldAt(float64(i) + .5)
	}
	for k, w := range weight {
		if w /= total; w < 1e-5 {
			continue
		}
		alpha, beta := betaOf(means[k], rhos[k])
		last := 0.0
		for i := range pointsOfYield {
			up := 1.0
			if i+1 < pointsOfYield {
				up = mathext.RegIncBeta(alpha, beta, yieldAt(float64(i+1)))
			}
			y.weight[i] += w * (up - last)
			last = up
		}
	}
	return y
}

// yieldAt spaces yields ever closer towards 1, where they matter: squares of
// what is lost.
func yieldAt(i float64) float64 {
	lost := 1 - i/pointsOfYield
	return 1 - lost*lost
}

// Mean is the mean yield.
func (y NextYield) Mean() (mean float64) {
	sum := 0.0
	for i, w := range y.weight {
		mean, sum = mean+w*y.yield[i], sum+w
	}
	return mean / sum
}

// AtLeast is the chance that so many of n come out good.
func (y NextYield) AtLeast(n, wanted int) (chance float64) {
	sum := 0.0
	for i, w := range y.weight {
		sum += w
		switch {
		case wanted <= 0 || y.yield[i] >= 1 && n >= wanted:
			chance += w
		case y.yield[i] > 0 && w > 0:
			chance += w * atLeast(n, wanted, y.yield[i])
		}
	}
	return chance / sum
}

// Start is the fewest pieces to start so that at least wanted come out good with
// the probability conf or more; ok is false where no number of a hundred million
// gives it, or nothing is known.
func (y NextYield) Start(wanted int, conf float64) (n int, ok bool) {
	if len(y.weight) == 0 || !inside(conf) {
		return 0, false
	}
	return fewest(wanted, func(n int) bool { return y.AtLeast(n, wanted) >= conf })
}
