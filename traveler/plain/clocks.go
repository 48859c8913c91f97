package plain

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
)

// clocks says when each scan of a family happened, as the numbers that devices
// give their scans allow: none happened before one that its device made earlier.
// Where a clock went back, what it says after that stands at the last time
// before. Scans that say themselves when they happened, or are corrected to say
// so, stand at that and bound no other.
func clocks(record []*traveler.Entry,
	fixed map[traveler.ScanID][]*traveler.Scan) map[traveler.ScanID]time.Time {
	when, devices := map[traveler.ScanID]time.Time{}, map[traveler.DeviceID][]*traveler.Entry{}
	for _, e := range record {
		if e.Scan == nil || e.Outcome == traveler.Refused {
			continue
		}
		s := e.Scan
		when[s.ID] = whenOf(e)
		about := s.Action == traveler.ActUndo || s.Action == traveler.ActCorrect
		dated := s.Happened != nil && !about ||
			slices.ContainsFunc(fixed[s.ID], func(c *traveler.Scan) bool { return c.Happened != nil })
		if s.Device != "" && s.N > 0 && !dated {
			devices[s.Device] = append(devices[s.Device], e)
		}
	}
	for _, list := range devices {
		slices.SortFunc(list, func(a, b *traveler.Entry) int {
			return cmp.Or(cmp.Compare(a.Scan.N, b.Scan.N), cmp.Compare(a.Scan.ID, b.Scan.ID))
		})
		var last time.Time
		for _, e := range counted(list, when) {
			if when[e.Scan.ID].Before(last) {
				when[e.Scan.ID] = last
			}
			last = when[e.Scan.ID]
		}
	}
	return when
}

// counted leaves out what was made after a scan with a higher number had come:
// the device had begun to count from one again.
func counted(list []*traveler.Entry, when map[traveler.ScanID]time.Time) (kept []*traveler.Entry) {
	for _, e := range slices.Backward(list) {
		if n := len(kept); n == 0 || !when[e.Scan.ID].After(kept[n-1].Arrived) {
			kept = append(kept, e)
		}
	}
	slices.Reverse(kept)
	return kept
}
