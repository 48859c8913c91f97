package measure

import (
	"tallywalk/traveler/story"
)

// Spent is the parts of many batches together, in seconds: more than a Duration
// holds, when a shop's years are added up.
type Spent struct {
	Run       float64 `json:"run_s"`
	Setup     float64 `json:"setup_s"`
	FirstOff  float64 `json:"firstoff_s"`
	Stop      float64 `json:"stop_s"`
	Outside   float64 `json:"outside_s"`
	Transport float64 `json:"transport_s"`
	Queue     float64 `json:"queue_s"`
	Between   float64 `json:"between_s"`
}

// SpentOf is the parts of one lead time.
func SpentOf(p *story.Parts) Spent {
	var s Spent
	s.Add(p)
	return s
}

// Add adds the parts of a batch or a visit.
func (s *Spent) Add(p *story.Parts) {
	s.Run += p.Run.Seconds()
	s.Setup += p.Setup.Seconds()
	s.FirstOff += p.FirstOff.Seconds()
	s.Stop += p.Stop.Seconds()
	s.Outside += p.Outside.Seconds()
	s.Transport += p.Transport.Seconds()
	s.Queue += p.Queue.Seconds()
	s.Between += p.Between.Seconds()
}

// Sum is all parts together.
func (s *Spent) Sum() float64 {
	return s.Run + s.Setup + s.FirstOff + s.Stop + s.Outside + s.Transport + s.Queue + s.Between
}

// Each is the mean of n batches.
func (s *Spent) Each(n int) Spent {
	d := float64(max(1, n))
	return Spent{s.Run / d, s.Setup / d, s.FirstOff / d, s.Stop / d, s.Outside / d, s.Transport / d,
		s.Queue / d, s.Between / d}
}

// Efficiency is the process cycle efficiency: the part of the lead time in which
// value was added (George 2002, Lean Six Sigma); here, the runs. 0 of nothing.
func (s *Spent) Efficiency() float64 { return s.part(s.Run) }

// Touch is the part of the lead time in which someone or some machine was at the
// batch: runs and set-ups. 0 of nothing.
func (s *Spent) Touch() float64 { return s.part(s.Run + s.Setup) }

func (s *Spent) part(of float64) float64 {
	if sum := s.Sum(); sum > 0 {
		return of / sum
	}
	return 0
}
