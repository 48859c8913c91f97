// Package calendar knows working time: shifts over midnight, breaks, days off,
// overtime, and the days of a zone that have 23 or 25 hours. It is a leaf: it
// imports nothing of the project, so that the words and the rules may use it.
//
// Where the clocks are changed, a time by the clock means the first moment at
// which the clock shows it or a later one. So a time that is skipped is the
// moment of the skip, and one that is shown twice is its first showing; turns
// that meet on paper meet in fact, and never overlap. A break begins by this rule
// and lasts as long as was written, for nobody rests an hour and a half because
// the clock was put back in the middle.
//
// This is RFC 5545 3.3.5 but for skipped times, which it moves to after the skip:
// two shifts that meet in a skipped hour would then overlap. Lengths are exact
// and days are calendar days, as in RFC 5545 3.3.6.
//
// The years 1970 to 2199 are known; outside them every calendar is closed.
//
// # Decisions, with their reasons
//
//   - The calendar is a leaf that the rules import. A run that passes closed time is cut
//     in the story, marked and asked about, so the fold must know working time; a
//     package of its own keeps it small.
package calendar

// Kind says what a turn of a calendar is.
type Kind string

// The kinds of turn.
const (
	Shift    Kind = "shift"    // work on these days of the week
	Break    Kind = "break"    // a pause within the shifts of these days
	Off      Kind = "off"      // no shift begins on this date
	Overtime Kind = "overtime" // work on this date beside its shifts
)

// Turn is one line of a calendar. A shift and a break have Days; days off and
// overtime have a Date. To may be before From, or the same, and then lies on the
// next day. A break belongs to the day on which its shift began.
type Turn struct {
	Kind Kind   `json:"kind"`
	Days string `json:"days,omitempty"` // days of the week, such as "mon-fri" or "mon,wed,sat"
	Date string `json:"date,omitempty"` // such as "2026-12-24"
	From string `json:"from,omitempty"` // "06:00", local time; empty for a day off
	To   string `json:"to,omitempty"`   // "14:00"
}

// Calendar is the working time of machines, as someone wrote it down.
type Calendar struct {
	Name  string `json:"calendar"`
	Zone  string `json:"zone"` // IANA name, such as "Europe/Berlin"
	Turns []Turn `json:"turns"`
}
