package measure

import (
	"time"

	"tallywalk/traveler/story"
)

// Flow is work in progress, throughput and lead time of a window, as Little's
// law ties them together: over any window, the mean number on the floor is the
// number that end a day times the days on the floor for each that ended. Both
// count the same area, so with the window's edges stated it is an identity;
// where as many came as went, those days are the mean lead time.
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

// Days is the length of the window.
func (f *Flow) Days() float64 { return f.To.Sub(f.From).Hours() / 24 }

// PerDay is the number of batches that ended for each day of the window.
func (f *Flow) PerDay() float64 { return float64(f.Done) / f.Days() }

// DaysEach is the days that batches spent on the floor within the window, for
// each that ended in it: the lead time of Little's law; ok is false when none
// ended.
func (f *Flow) DaysEach() (days float64, ok bool) {
	if f.Done == 0 {
		return 0, false
	}
	return f.Within / 86400 / float64(f.Done), true
}
