package calendar

import "fmt"

// Fault is why a calendar makes no sense: the first thing in it that does not.
type Fault struct {
	Turn   int    // index in Calendar.Turns; -1 = the calendar itself
	Field  string // as in the JSON of Turn or Calendar
	Value  string // what stands there
	Reason string // what is wrong with it and what to write instead; follows the value in a sentence
}

// Error is the fault as a sentence. Turns are counted from 1, as people do.
func (f *Fault) Error() string {
	s := f.Field
	if f.Value != "" {
		s += fmt.Sprintf(" %q", f.Value)
	}
	s += " " + f.Reason
	if f.Turn < 0 {
		return s
	}
	return fmt.Sprintf("turn %d: %s", f.Turn+1, s)
}
