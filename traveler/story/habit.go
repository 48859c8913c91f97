package story

import "tallywalk/traveler"

// Arrivals is how often batches of the family came to a place, and how often someone
// said so when they came: at a machine that they arrived, at a place where batches
// are only kept that they were put there.
func (f *Family) Arrivals(place traveler.MachineID) (said, came int) {
	for i := range f.Visits {
		if v := &f.Visits[i]; v.Machine == place {
			came++
			if !v.ArrivalInferred {
				said++
			}
		}
	}
	for _, line := range f.Lines.Backward() {
		s := line.Entry.Scan
		if s == nil || line.Entry.Machine != place || line.Fate != FateStands {
			continue
		}
		switch s.Action {
		case traveler.ActMove:
			if traveler.MachineID(s.To) == place {
				said, came = said+1, came+1
			}
		case traveler.ActDeliver:
			came++
		}
	}
	return said, came
}

// IsUsual reports whether it is usual at a place to say that batches come, of what
// Arrivals counted there: two times in five at least, since trays that follow others
// come without a word.
func IsUsual(said, came int) bool { return came > 0 && 5*said >= 2*came }
