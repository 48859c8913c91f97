package intake

import (
	"math"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
)

func itoa(n int) string { return strconv.Itoa(n) }

// text reads a short text; required ones must not be empty.
func (t *table) text(r row, name string, required bool) string {
	v := t.cell(r, name)
	if v == "" && required {
		t.problem(r.line, name, v, "must be given")
	}
	if !traveler.CleanText(v, traveler.MaxShort) {
		t.problem(r.line, name, v, "is longer than 120 characters, or holds control characters")
	}
	return v
}

// long reads a text that may be as long as a note; its lines become one.
func (t *table) long(r row, name string) string {
	v := strings.Join(strings.Fields(t.cell(r, name)), " ")
	if !traveler.CleanText(v, traveler.MaxText) {
		t.problem(r.line, name, v, "is longer than 500 characters, or holds control characters")
	}
	return v
}

// number reads a number from least to most; an empty cell gives def where the
// column may be left out.
func (t *table) number(r row, name string, least, most float64, def *float64) float64 {
	v := t.cell(r, name)
	if v == "" && def != nil {
		return *def
	}
	f, reason := parseNumber(v, t.comma)
	if reason == "" && (f < least || f > most) {
		reason = "must be from " + strconv.FormatFloat(least, 'g', -1, 64) + " to " +
			strconv.FormatFloat(most, 'g', -1, 64)
	}
	if reason != "" {
		t.problem(r.line, name, v, reason)
		return 0
	}
	return f
}

func parseNumber(v string, comma rune) (float64, string) {
	if v == "" {
		return 0, "must be a number"
	}
	for _, c := range v {
		if !strings.ContainsRune("0123456789.,-+", c) {
			return 0, "must be a number, written with digits only"
		}
	}
	if strings.Contains(v, ",") {
		if comma == ',' {
			return 0, "has a comma; in a comma-separated file the decimal sign is a point"
		}
		if strings.Count(v, ",") > 1 || strings.Contains(v, ".") {
			return 0, "could be read two ways; write it without signs between thousands"
		}
		v = strings.Replace(v, ",", ".", 1)
	}
	f, err := strconv.ParseFloat(v, 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
		return 0, "must be a number"
	}
	return f, ""
}

// whole reads a whole number.
func (t *table) whole(r row, name string, least, most int, def *int) int {
	v := t.cell(r, name)
	if v == "" && def != nil {
		return *def
	}
	n, err := strconv.Atoi(v)
	if err != nil || n < least || n > most {
		t.problem(r.line, name, v, "must be a whole number from "+itoa(least)+" to "+itoa(most))
		return 0
	}
	return n
}

// yes reads yes or no; an empty cell is no.
func (t *table) yes(r row, name string) bool {
	switch v := t.cell(r, name); strings.ToLower(v) {
	case "yes", "true", "1":
		return true
	case "", "no", "false", "0":
		return false
	default:
		t.problem(r.line, name, v, "must be yes or no")
	}
	return false
}

// day reads a date; an empty cell gives the zero time.
func (t *table) day(r row, name string) time.Time {
	v := t.cell(r, name)
	if v == "" {
		return time.Time{}
	}
	for _, layout := range []string{time.DateOnly, "02.01.2006"} {
		if d, err := time.Parse(layout, v); err == nil && d.Year() >= 2000 {
			return d
		}
	}
	t.problem(r.line, name, v, "is no date such as 2026-11-25 or 25.11.2026")
	return time.Time{}
}

// moment reads a date with or without a time of day, in the shop's zone.
func (t *table) moment(r row, name string, zone *time.Location) time.Time {
	v := t.cell(r, name)
	if v == "" {
		return time.Time{}
	}
	for _, layout := range []string{
		time.RFC3339, time.DateOnly, "02.01.2006", "2006-01-02 15:04", "2006-01-02T15:04",
		"2006-01-02 15:04:05", "02.01.2006 15:04",
	} {
		if d, err := time.ParseInLocation(layout, v, zone); err == nil && d.Year() >= 2000 {
			return d.UTC()
		}
	}
	t.problem(r.line, name, v,
		"is no time such as 2026-11-25 07:00, or date such as 2026-11-25 or 25.11.2026")
	return time.Time{}
}
