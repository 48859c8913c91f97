package traveler_test

import (
	"testing"

	"tallywalk/traveler"
)

// Titles as they stand on drawings; common practice, no source.
func TestPartFamily(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"Bearing cap, 40": "Bearing cap", "Bearing cap 55 H7": "Bearing cap",
		"Valve body, NG 6 with relief": "Valve body",
		"Guide pin 8×40":               "Guide pin", "Spindle  housing": "Spindle housing",
		"3-way valve, left": "3-way valve",
		"":                  "", " , 40": "", "M8": "M8",
	} {
		if got := traveler.PartFamily(name); got != want {
			t.Errorf("%q is of the family %q, want %q", name, got, want)
		}
	}
}
