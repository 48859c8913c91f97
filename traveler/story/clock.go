package story

import (
	"tallywalk/traveler"
	"time"
)

// ClockDoubt is why the server's clock can't be believed: it is before the
// newest entry of the record, or it leapt against a steady clock.
type ClockDoubt struct {
	Is       time.Time // what the clock says
	Expected time.Time // the earliest it should say: the newest entry; or what a steady clock says
	Record   bool      // it is before the end of the record
}

// Key names the sentence about it in the catalogue.
func (d *ClockDoubt) Key() string {
	switch {
	case d.Record:
		return "clock.behind"
	case d.Is.After(d.Expected):
		return "clock.forward"
	}
	return "clock.back"
}

// Msg is the sentence about it.
func (d *ClockDoubt) Msg() traveler.Msg { return traveler.Msg{Key: d.Key(), Args: d.Args()} }

// Args is what the sentence is filled in with: the clock's time, the expected
// one, and the minutes between them.
func (d *ClockDoubt) Args() []string {
	off := d.Is.Sub(d.Expected).Abs().Round(time.Minute)
	return []string{sayUTC(d.Is), sayUTC(d.Expected), num(int(off / time.Minute))}
}

// Spoken is what a device said last: its counter, and when.
type Spoken struct {
	N  uint64    `json:"n"`
	At time.Time `json:"at"`
}

func sayUTC(t time.Time) string { return t.UTC().Format("2006-01-02 15:04 UTC") }
