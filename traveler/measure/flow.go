package measure

import (
	"time"

	"tallywalk/traveler/story"
)

// Flow is work in progress, throughput and lead time of a window, as Little's
// law ties them together: over any window, the mean number on the floor is the
// rate at which batches arrive times the mean time that they spend in it. Both
// count the same area, so with the window's edges stated it is an identity.
type Flow struct {
	From, To time.Time
	WIP      float64 // mean number of batches on the floor
	Present  int     // batches that were on the floor at some time in the window
	Released int     // of them, released in it
	Done     int     // of them, ended in it
	Within   float64 // seconds that those present spent on the floor, within the window, together
	Pieces   float64 // mean number of pieces on the floor, as started
}

// Add counts a batch. One that is still on the floor counts up to the window's
// end.
func (f *Flow) Add(b *story.BatchFact) {
	length := f.To.Sub(f.From)
	if length <= 0 {
		return
	}
	a, z := b.Released, b.Ended
	if z.IsZero() || z.After(f.To) {
		z = f.To
	}
	if a.Before(f.From) {
		a = f.From
	}
	if !a.Before(f.To) || z.Before(f.From) || z.Before(a) {
		return
	}
	f.Present++
	if !b.Released.Before(f.From) {
		f.Released++
	}
	if !b.Ended.IsZero() && b.Ended.Before(f.To) {
		f.Done++
	}
	f.Within += z.Sub(a).Seconds()
	f.WIP = f.Within / length.Seconds()
	f.Pieces += float64(b.Started) * float64(z.Sub(a)) / float64(length)
}

// PerDay is the number of batches present for each day of the window: the rate
// of Little's law.
func (f *Flow) PerDay() float64 {
	return float64(f.Present) / (f.To.Sub(f.From).Hours() / 24)
}

// MeanWithin is the mean time that a batch present spent within the window.
func (f *Flow) MeanWithin() time.Duration {
	if f.Present == 0 {
		return 0
	}
	return time.Duration(f.Within / float64(f.Present) * float64(time.Second))
}
