package demo

import (
	"math"
	"time"
)

// chance is true with probability p.
func (s *Sim) chance(p float64) bool { return s.rng.Float64() < p }

// about draws a lognormal number whose median is m.
func (s *Sim) about(m, spread float64) float64 { return m * math.Exp(spread*s.rng.NormFloat64()) }

// around draws a lognormal number whose mean is m.
func (s *Sim) around(m, spread float64) float64 {
	return m * math.Exp(spread*s.rng.NormFloat64()-spread*spread/2)
}

func minutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }

// minutes draws a time whose median is m minutes.
func (s *Sim) minutes(m, spread float64) time.Duration { return minutes(s.about(m, spread)) }

// between draws a time evenly, in minutes.
func (s *Sim) between(from, to float64) time.Duration {
	return minutes(from + (to-from)*s.rng.Float64())
}

// of how many of n befall what befalls each with probability p.
func (s *Sim) of(n int, p float64) int {
	k := 0
	for range n {
		if s.chance(p) {
			k++
		}
	}
	return k
}

// weighed is something to choose, and how often.
type weighed struct {
	what string
	of   float64
}

func (s *Sim) choose(list []weighed) string {
	all := 0.0
	for _, w := range list {
		all += w.of
	}
	x := s.rng.Float64() * all
	for _, w := range list {
		if x -= w.of; x < 0 {
			return w.what
		}
	}
	return list[len(list)-1].what
}
