package people

import (
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
)

// Of two lists the latest of each number holds, whichever comes first.
func TestMergeErased(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 5, d, 8, 0, 0, 0, time.UTC) }
	of := func(id, name string, d int) Erased {
		return Erased{ID: traveler.PersonID(id), Pseudonym: name, At: day(d)}
	}
	one := []Erased{of("9", "K", 3), of("7", "L", 1)}
	two := []Erased{of("7", "M", 2), of("8", "N", 1)}
	want := []Erased{of("7", "M", 2), of("8", "N", 1), of("9", "K", 3)}
	for _, got := range [][]Erased{MergeErased(one, two), MergeErased(two, one), MergeErased(one, two, one)} {
		if !slices.Equal(got, want) {
			t.Errorf("got %v", got)
		}
	}
	if got := MergeErased(); len(got) != 0 {
		t.Errorf("of nothing: %v", got)
	}
}
