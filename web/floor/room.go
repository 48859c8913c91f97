// Package floor answers what goes on: batches, their stories, scans, questions, what a
// station shows, and paper.
//
// # Decisions, with their reasons
//
//   - The answer to a scan has the batch in short: it is made for each scan, and whoever
//     scans needs its counts, visits and questions; operations, spans and people are for
//     a page, which asks for now=whole. It is written without reflection.
package floor

import (
	"io"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/story"
	"tallywalk/web/door"
)

// Config is what the room is given by the others.
type Config struct {
	// Station says what a scan of a batch at a machine could mean, for someone in
	// a role, in a language. The answer is sent as JSON.
	Station func(
		shop *traveler.Shop, f *story.Family, batch int, m traveler.MachineID, role traveler.Role,
		arrives bool, language string, now time.Time,
	) any
	// Known says what a station needs to judge by itself what is said of a batch. The
	// answer is sent as JSON.
	Known func(shop *traveler.Shop, f *story.Family, batch int, now time.Time) any
	// Refusals are the keys of the sentences with which a station refuses by itself.
	Refusals []string
	// Waiting lists what waits before a work centre.
	Waiting func(traveler.WorkCentre) []board.Row
	// Print writes job cards as PDF, in a language; size is A5, A4 or A4x2.
	Print func(w io.Writer, cards []paper.Printed, size, language string) error
	// PrintBook writes job cards too, asking for each when it comes to it, from two
	// goroutines.
	PrintBook func(
		w io.Writer, n int, card func(int) (paper.Printed, error), size, language string,
	) error
	// PrintLabels writes labels, all of one size.
	PrintLabels func(w io.Writer, labels []paper.Label, size, language string) error
	// Fingerprint is that of the server's authority; empty where it has none.
	Fingerprint func() string
	// PrintSheet writes another sheet: the scanner test card, badges, machine
	// plates, or a machine's action sheet.
	PrintSheet func(w io.Writer, sheet paper.Sheet, language string) error
}

type room struct {
	*door.Door
	Config
	habits habits
	past   past
}
