// Package measure holds the figures of a visit, a batch, a route and a machine:
// each defined once, in seconds and metres, with its ISO 22400-2 name where
// that standard has one.
package measure

import (
	"time"

	"tallywalk/traveler"
)

// Times are the parts of one visit, in clock time. Spans that still last go up
// to the moment asked for.
type Times struct {
	// Transport is from the end of the visit before to the scanned arrival
	// (ISO 22400 ATT), Queue from there to the first set-up or run (AQT). Both
	// are known only where an arrival was scanned.
	Transport, Queue time.Duration
	// Between is from the end of the visit before to the first set-up or run,
	// where no arrival was scanned.
	Between  time.Duration
	Arrived  bool          // an arrival was scanned
	Setup    time.Duration // ISO 22400 AUST
	FirstOff time.Duration // waiting for the verdict on the first piece
	Run      time.Duration // ISO 22400 APT
	Stop     time.Duration // ISO 22400 ADET
	Outside  time.Duration
}

// Visit gives the parts of a visit as known at now.
func Visit(f *traveler.Family, visit int, now time.Time) Times {
	v := &f.Visits[visit]
	end := v.Ended()
	if end.IsZero() {
		end = now
	}
	t := Times{Arrived: !v.ArrivalInferred}
	begun := time.Time{}
	for i := range f.Spans {
		s := &f.Spans[i]
		if s.Visit != visit {
			continue
		}
		if begun.IsZero() {
			begun = s.From
		}
		t.Add(s, end)
	}
	if begun.IsZero() {
		begun = end
	}
	before := f.Before(visit)
	if t.Arrived {
		t.Transport = positive(v.Arrived.Sub(before))
		t.Queue = positive(begun.Sub(v.Arrived))
	} else {
		t.Between = positive(begun.Sub(before))
	}
	return t
}

// Add adds a span to the parts; one that still lasts goes up to end.
func (t *Times) Add(s *traveler.Span, end time.Time) {
	to := s.To
	if to.IsZero() {
		to = end
	}
	d := positive(to.Sub(s.From))
	switch s.Kind {
	case traveler.SpanSetup:
		t.Setup += d
	case traveler.SpanFirstOff:
		t.FirstOff += d
	case traveler.SpanRun:
		t.Run += d
	case traveler.SpanStop:
		t.Stop += d
	case traveler.SpanOutside:
		t.Outside += d
	}
}

func positive(d time.Duration) time.Duration { return max(0, d) }
