package kiosk

import (
	"fmt"
	"slices"
)

// WordLines is the catalogue as the page writes it.
func WordLines() []string {
	var out []string
	for k, v := range words {
		out = append(out, fmt.Sprintf("'%s': '%s',", k, v))
	}
	slices.Sort(out)
	return out
}
