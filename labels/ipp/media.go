package ipp

import (
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"tallywalk/traveler/paper"
)

const mostText = 300 // runes of a printer's words that are kept

// clean makes a printer's words fit to be shown.
func clean(s string) string {
	s = strings.ToValidUTF8(s, "�")
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.In(r, unicode.Cf) {
			return ' '
		}
		return r
	}, s))
	if r := []rune(s); len(r) > mostText {
		s = string(r[:mostText])
	}
	return s
}

// sized is the end of a self-describing name of PWG 5101.1: _210x297mm, _8.5x11in.
var sized = regexp.MustCompile(`_([0-9]{1,5}(?:\.[0-9]{1,4})?)x([0-9]{1,5}(?:\.[0-9]{1,4})?)(mm|in)`)

// sizeOf reads the size of a kind of paper from its name.
func sizeOf(name string) (wide, high float64, ok bool) {
	m := sized.FindStringSubmatch(name)
	if m == nil {
		return 0, 0, false
	}
	unit := 1.0
	if m[3] == "in" {
		unit = 25.4
	}
	for i, to := range []*float64{&wide, &high} {
		f, err := strconv.ParseFloat(m[i+1], 64)
		if err != nil {
			return 0, 0, false
		}
		*to = f * unit
	}
	return wide, high, wide > 0 && high > 0
}

// mediaOf reads names of paper; those without a size are left out, and the two ends of
// a range become one.
func mediaOf(names []string) []paper.Media {
	var all []paper.Media
	ends := map[string][2]float64{}
	for _, n := range names {
		if i := strings.Index(n, "_max_"); i > 0 {
			if w, h, ok := sizeOf(n); ok {
				ends[n[:i]] = [2]float64{w, h}
			}
		}
	}
	for _, n := range names {
		w, h, ok := sizeOf(n)
		if !ok || strings.Contains(n, "_max_") {
			continue
		}
		m := paper.Media{Name: n, Wide: w, High: h}
		if i := strings.Index(n, "_min_"); i > 0 {
			end, there := ends[n[:i]]
			if !there {
				continue
			}
			m.MaxWide, m.MaxHigh = end[0], end[1]
		}
		all = append(all, m)
	}
	return all
}
