// Package paper is what is printed, before it is laid out: job cards and sheets.
package paper

import (
	"fmt"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
)

// PrintedOf is a batch of a desk as it is printed at a moment.
func PrintedOf(desk story.Desk, f *story.Family, i int, url string, now time.Time) Printed {
	b := f.Batches[i]
	route, _ := desk.Shop().Route(b.Part, b.Rev)
	route.Operations = b.Ops
	seq, head := desk.Head()
	return Printed{Batch: b, Route: route, URL: url, Printed: now, Head: fmt.Sprintf("%d %x", seq, head[:8])}
}

// Printed is a batch with its route, ready to be printed.
type Printed struct {
	Batch   story.Batch
	Route   traveler.Route
	URL     string
	Printed time.Time
	Head    string // the record's last sequence and head hash
}

// Sheet is a printed sheet that is not a job card.
type Sheet struct {
	Kind     string // scanner, badges, plates, actions, trust or devices
	Machine  traveler.Machine
	Machines []traveler.Machine
	People   []people.Person
	Reasons  []traveler.Reason // of the shop, for an action sheet
	Size     string            // A5 or A4, of a scanner test card; empty is A5
	Printed  time.Time

	URL         string // of a trust sheet and of devices: where one begins
	Fingerprint string // of the authority, on a trust sheet; empty where there is none
	Devices     []Device
}

// Device is an enrolled tablet or terminal.
type Device struct{ Name, Machine string }
