package traveler

import "strings"

// PartFamily is what the names of parts that are made alike begin with: the words before
// the first comma, or before the first word with a digit in it. "Bearing cap, 40" and
// "Bearing cap 55 H7" are of the family "Bearing cap". A name without either is a family
// of its own; an empty name is of none. Drawings of a shop are titled like that by common
// practice, no source.
func PartFamily(name string) string {
	name, _, _ = strings.Cut(name, ",")
	words := strings.Fields(name)
	for i, w := range words {
		if i > 0 && strings.ContainsAny(w, "0123456789") {
			words = words[:i]
			break
		}
	}
	return strings.Join(words, " ")
}
