package intake

import (
	"io"

	"tallywalk/traveler"
)

// leastMetres is the shortest aisle, one centimetre.
const leastMetres = 0.01

// Corners reads the list of corners, where aisles meet or turn. Whether a corner has
// the name of a machine, the list alone does not show. What is wrong with the file is a
// *Refused with a line for each fault; other errors are of r.
func Corners(file string, r io.Reader) ([]traveler.Corner, error) {
	t := read(file, r, []column{must("corner"), must("x_m"), must("y_m")})
	var out []traveler.Corner
	seen := map[string]int{}
	for _, r := range t.rows {
		c := traveler.Corner{
			ID: t.text(r, "corner", true),
			X:  t.number(r, "x_m", -maxMetres, maxMetres, nil),
			Y:  t.number(r, "y_m", -maxMetres, maxMetres, nil),
		}
		t.twice(seen, r, "corner", c.ID)
		out = append(out, c)
	}
	return out, t.err()
}

// Aisles reads the list of aisles between machines and corners. An aisle goes both
// ways, so that the same two ends may stand once only. Without metres it is as long as
// the straight line between its ends, and Metres is 0. What is wrong with the file is a
// *Refused with a line for each fault; other errors are of r.
func Aisles(file string, r io.Reader) ([]traveler.Aisle, error) {
	t := read(file, r, []column{must("from"), must("to"), may("metres")})
	var out []traveler.Aisle
	seen := map[[2]string]int{}
	for _, r := range t.rows {
		a := traveler.Aisle{
			From: t.text(r, "from", true), To: t.text(r, "to", true),
			Metres: t.number(r, "metres", leastMetres, maxMetres, ptr(0.0)),
		}
		t.ends(seen, r, a)
		out = append(out, a)
	}
	return out, t.err()
}

// ends notes an aisle that leads nowhere, or that stands there already.
func (t *table) ends(seen map[[2]string]int, r row, a traveler.Aisle) {
	if a.From == "" || a.To == "" {
		return
	}
	if a.From == a.To {
		t.problem(r.line, "to", a.To, "is where the aisle begins; an aisle joins two places")
		return
	}
	key := [2]string{min(a.From, a.To), max(a.From, a.To)}
	if first, ok := seen[key]; ok {
		t.problem(r.line, "to", a.To,
			"ends an aisle that stands on line "+itoa(first)+" already; aisles go both ways")
		return
	}
	seen[key] = r.line
}
