package intake

import (
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler/oldlog"
)

// Log reads a shop's old log, CSV or the first sheet of a workbook, as a mapping
// says. Times that do not say how far from UTC they are, are by the clock of
// the zone. What is odd about a row is noted and mended; an error is for a file
// that the mapping does not fit.
func Log(file string, r io.Reader, m *Mapping, zone *time.Location) ([]oldlog.Row, *oldlog.Oddities, error) {
	l := &logReader{table: &table{file: file, at: map[string]int{}}, m: m, zone: zone,
		odd: &oldlog.Oddities{}, where: map[string][]int{}}
	rows := l.load(r)
	if len(rows) < 2 {
		if l.bad.Total == 0 {
			l.problem(1, "", "", "has no rows; the first line names the columns")
		}
		return nil, nil, l.err()
	}
	l.columns(rows[0].cells)
	if err := l.err(); err != nil {
		return nil, nil, err
	}
	out := make([]oldlog.Row, 0, len(rows)-1)
	for _, r := range even(rows)[1:] {
		if strings.Join(r.cells, "") == "" {
			continue
		}
		if x, ok := l.row(r); ok {
			out = append(out, x)
		}
	}
	if n := l.unread.n; n > len(out)/2 {
		l.problem(l.unread.line, strings.Join(m.columns["start"], " "), l.unread.value,
			"is no time that can be read, nor are "+itoa(n-1)+` others; say in `+m.file+
				` how they are written, such as time = "DD/MM/YYYY hh:mm"`)
	}
	l.anyUse(rows, out)
	return out, l.odd, l.err()
}

// anyUse refuses a file of which no row says a batch and a time: then the mapping
// names other columns than are meant, or other words.
func (l *logReader) anyUse(rows []row, out []oldlog.Row) {
	for i := range out {
		if out[i].Batch != "" && !(out[i].Start.IsZero() && out[i].End.IsZero()) {
			return
		}
	}
	if l.bad.Total > 0 {
		return
	}
	if len(out) == 0 {
		l.problem(rows[1].line, "kind", l.get(rows[1], "kind"),
			"and every other row is passed over by kind.skip in "+l.m.file+"; no row gives a scan")
		return
	}
	l.problem(out[0].Line, strings.Join(l.m.columns["start"], " "), l.get(lineOf(rows, out[0].Line), "start"),
		"with batch "+strconv.Quote(out[0].Batch)+
			" gives no scan, nor does any other row; expected are a batch and a time such as 2026-11-25 06:10 in the columns that "+
			l.m.file+" names")
}

func lineOf(rows []row, line int) row {
	i := slices.IndexFunc(rows, func(r row) bool { return r.line == line })
	return rows[max(i, 0)]
}

type logReader struct {
	*table
	m      *Mapping
	zone   *time.Location
	odd    *oldlog.Oddities
	where  map[string][]int // our columns among theirs
	unread struct {         // starts that say something else than a time
		n, line int
		value   string
	}
}

// columns finds their columns in the header.
func (l *logReader) columns(head []string) {
	theirs := map[string]int{}
	for i, h := range head {
		if _, twice := theirs[fold(h)]; !twice {
			theirs[fold(h)] = i
		}
	}
	for _, ours := range slices.Concat(mustMap, mayMap) {
		for _, name := range l.m.columns[ours] {
			i, ok := theirs[fold(name)]
			if !ok {
				l.problem(1, ours, name,
					"is no column of this file; its columns are "+strings.Join(head, ", "))
				continue
			}
			l.where[ours] = append(l.where[ours], i)
		}
	}
}

func fold(s string) string { return strings.ToLower(blanks(s)) }

// get reads one of our columns.
func (l *logReader) get(r row, ours string) string {
	var parts []string
	for _, i := range l.where[ours] {
		if i < len(r.cells) && r.cells[i] != "" {
			parts = append(parts, r.cells[i])
		}
	}
	return blanks(strings.Join(parts, " "))
}

// row reads a row; false passes it over.
func (l *logReader) row(r row) (oldlog.Row, bool) {
	kind, skip := l.kind(r)
	if skip {
		return oldlog.Row{}, false
	}
	x := oldlog.Row{
		Line: r.line, Batch: l.get(r, "batch"), Part: l.get(r, "part"), PartName: l.get(r, "part_name"),
		Operation: l.get(r, "operation"),
		Machine:   l.get(r, "machine"), Person: l.get(r, "person"), Reason: l.get(r, "reason"), Kind: kind,
		Good: l.amount(r, "good"), Scrap: l.amount(r, "scrap"), Review: l.amount(r, "review"),
		Pieces: l.amount(r, "pieces"),
	}
	if v := l.get(r, "rework"); l.is("rework.row", v) {
		l.odd.Add(oldlog.ReworkWord, r.line)
	} else if v != "" {
		x.Rework = l.amount(r, "rework")
	}
	l.times(r, &x)
	return x, true
}

func (l *logReader) is(key, word string) bool {
	return word != "" &&
		slices.ContainsFunc(l.m.words[key], func(w string) bool { return strings.EqualFold(w, word) })
}

func (l *logReader) kind(r row) (k oldlog.Kind, skip bool) {
	word := l.get(r, "kind")
	switch {
	case l.is("kind.skip", word):
		return "", true
	case l.is("kind.setup", word):
		return oldlog.Setup, false
	case l.is("kind.stop", word):
		return oldlog.Stop, false
	case word != "" && len(l.m.words["kind.run"]) > 0 && !l.is("kind.run", word):
		l.odd.Add(oldlog.NoKind, r.line)
	}
	return oldlog.Run, false
}

// times finds the moments of a row's start and end. In an hour that came twice
// it takes the first that fits: an end not before its start.
func (l *logReader) times(r row, x *oldlog.Row) {
	start, end := l.moments(r, "start"), l.moments(r, "end")
	if v := l.get(r, "start"); v != "" && len(start) == 0 {
		if l.unread.n++; l.unread.n == 1 {
			l.unread.line, l.unread.value = r.line, v
		}
	}
	if len(start) > 0 {
		x.Start = start[0]
	}
	for _, t := range end {
		if x.End = t; !t.Before(x.Start) {
			break
		}
	}
}

// clockLayouts are the times that are read without a layout.
var clockLayouts = []string{
	"2006-01-02 15:04:05", "2006-01-02T15:04:05", "2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02",
	"2006/01/02 15:04:05", "2006/01/02 15:04",
	"02.01.2006 15:04:05", "02.01.2006 15:04", "02.01.2006",
}

// moments are the moments that a cell can mean; none when it is empty or cannot
// be read.
func (l *logReader) moments(r row, ours string) []time.Time {
	v := l.get(r, ours)
	if v == "" {
		return nil
	}
	if t, err := time.Parse(time.RFC3339, v); err == nil {
		return []time.Time{t.UTC()}
	}
	for _, layout := range slices.Concat(l.m.layouts, clockLayouts) {
		shown, err := time.Parse(layout, v)
		if err != nil {
			continue
		}
		if strings.Contains(layout, "-07") {
			return []time.Time{shown.UTC()}
		}
		at, never := localTimes(shown, l.zone)
		switch {
		case never:
			l.odd.Add(oldlog.HourNever, r.line)
		case len(at) > 1:
			l.odd.Add(oldlog.HourTwice, r.line)
		}
		return at
	}
	return nil
}

var thousands = regexp.MustCompile(`^[+-]?\d{1,3}([.,' ]\d{3})+$`)

// amount reads a number of pieces; what cannot be one counts as none.
func (l *logReader) amount(r row, ours string) int {
	v := l.get(r, ours)
	if v == "" {
		return 0
	}
	sign := l.m.Decimal
	if sign == 0 {
		sign = '.'
		if strings.Count(v, ",") == 1 && !strings.Contains(v, ".") &&
			(l.comma != ',' || !thousands.MatchString(v)) {
			sign = ','
			if thousands.MatchString(v) {
				l.odd.Add(oldlog.TwoWays, r.line)
			}
		}
	}
	whole, rest, _ := strings.Cut(v, string(sign))
	if thousands.MatchString(whole) {
		whole = strings.NewReplacer(".", "", ",", "", "'", "", " ", "").Replace(whole)
	}
	if rest != "" {
		whole += "." + rest
	}
	n, err := strconv.ParseFloat(whole, 64)
	switch {
	case err != nil || math.IsNaN(n) || math.Abs(n) > 1e15:
		l.odd.Add(oldlog.NoNumber, r.line)
		return 0
	case n < 0:
		l.odd.Add(oldlog.Negative, r.line)
		return 0
	case n != math.Trunc(n):
		l.odd.Add(oldlog.Fraction, r.line)
	}
	return int(math.Round(n))
}
