package intake

import (
	"slices"
	"strconv"
	"strings"
	"time"
)

// Mapping says what the columns of a shop's old log are. It is a text of lines
//
//	ours = "Their Column"
//
// with # before what is only said to people. See testdata/example/oldlog.map.
type Mapping struct {
	columns map[string][]string // theirs; several are read as one, a blank between
	words   map[string][]string // of kind: their words for a kind of row
	lines   map[string]int

	Zone      string // IANA name; empty = not said
	Decimal   rune   // decimal sign; 0 = whichever is there
	OverAfter int    // days after which a batch of which nothing came is over
	Keep      bool   // rows that say the same, word for word, are each taken
	Apart     bool   // an operation done again after other work is a pass of its own
	layouts   []string
	file      string
}

// overAfterDays is what OverAfter is when nobody says another.
const overAfterDays = 14

// Columns of a mapping, those that must be there first.
var (
	mustMap = []string{"batch", "start"}
	mayMap  = []string{
		"end", "operation", "machine", "kind", "good", "scrap", "rework", "review", "pieces", "part",
		"part_name", "person", "reason",
	}
	kindWords = []string{"kind.setup", "kind.run", "kind.stop", "kind.skip", "rework.row"}
	settings  = []string{"zone", "time", "dates", "decimal", "over_after_days", "duplicates", "passes"}
)

// ParseMapping reads a mapping; what is wrong with it is a *Refused.
func ParseMapping(file, text string) (*Mapping, error) {
	m := &Mapping{columns: map[string][]string{}, words: map[string][]string{}, lines: map[string]int{},
		OverAfter: overAfterDays, file: file}
	var bad Refused
	for i, line := range strings.Split(strings.TrimPrefix(text, "\ufeff"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		key, value, ok := strings.Cut(line, "=")
		key = strings.ToLower(strings.TrimSpace(key))
		values := valuesOf(value)
		why := ""
		switch {
		case !ok || len(values) == 0:
			why = `must be a line such as batch = "Order number"`
		case m.lines[key] > 0:
			why = "stands on line " + itoa(m.lines[key]) + " already"
		default:
			why = m.set(key, values)
		}
		m.lines[key] = i + 1
		if why != "" {
			bad.Add(Problem{file, i + 1, key, strings.Join(values, ", "), why})
		}
	}
	for _, key := range mustMap {
		if m.columns[key] == nil {
			bad.Add(Problem{file, 1, key, "", "must be given: which of their columns it is"})
		}
	}
	if m.columns["operation"] == nil && m.columns["machine"] == nil {
		bad.Add(Problem{file, 1, "operation", "", "or machine must be given: which of their columns it is"})
	}
	return m, bad.Err()
}

// valuesOf reads "a", "b" or a bare word.
func valuesOf(s string) (out []string) {
	s = strings.TrimSpace(s)
	if !strings.HasPrefix(s, `"`) {
		s, _, _ = strings.Cut(s, " #")
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
		return out
	}
	for {
		_, rest, ok := strings.Cut(s, `"`)
		v, rest, closed := strings.Cut(rest, `"`)
		if !ok || !closed {
			return out
		}
		out = append(out, blanks(v))
		if s = strings.TrimSpace(rest); s == "" || s[0] == '#' {
			return out
		}
	}
}

// blanks lets a text have no more than one blank at a time.
func blanks(s string) string { return strings.Join(strings.Fields(s), " ") }

// set takes one line; what it returns is why not.
func (m *Mapping) set(key string, values []string) string {
	switch {
	case slices.Contains(mustMap, key), slices.Contains(mayMap, key):
		m.columns[key] = values
	case slices.Contains(kindWords, key):
		m.words[key] = values
	case key == "zone":
		m.Zone = values[0]
		if _, err := time.LoadLocation(m.Zone); err != nil {
			return "is no time zone such as Europe/Berlin"
		}
	case key == "time":
		for _, v := range values {
			layout := layoutOf(v)
			if !wholeMoment(layout) {
				return `must name day, month and year, and the hour before minutes, such as "DD/MM/YYYY hh:mm"; the columns of start are read as one text`
			}
			m.layouts = append(m.layouts, layout)
		}
	case key == "dates":
		layouts := dateLayouts(values[0])
		if layouts == nil {
			return `must be "DMY", "MDY" or "YMD": the order of day, month and year`
		}
		m.layouts = append(m.layouts, layouts...)
	case key == "duplicates":
		if m.Keep = values[0] == "keep"; !m.Keep && values[0] != "once" {
			return `must be "once" or "keep"`
		}
	case key == "passes":
		if m.Apart = values[0] == "apart"; !m.Apart && values[0] != "together" {
			return `must be "together" or "apart"`
		}
	case key == "decimal":
		if values[0] != "," && values[0] != "." {
			return `must be "," or "."`
		}
		m.Decimal = rune(values[0][0])
	case key == "over_after_days":
		n, err := strconv.Atoi(values[0])
		if err != nil || n < 0 || n > 36_500 {
			return "must be a whole number of days; 0 means that all batches are over"
		}
		m.OverAfter = n
	default:
		all := slices.Concat(mustMap, mayMap, kindWords, settings)
		return "is nothing that a mapping has; it has " + strings.Join(all, ", ")
	}
	return ""
}

// layoutOf makes Go's layout of a pattern such as DD.MM.YYYY hh:mm:ss.
func layoutOf(pattern string) string {
	hour := "15"
	if strings.Contains(pattern, "AM") {
		hour = "03"
	}
	return strings.NewReplacer("YYYY", "2006", "YY", "06", "MM", "01", "M", "1", "DD", "02", "D", "2", "hh",
		hour, "h", strings.TrimPrefix(hour, "0"),
		"mm", "04", "ss", "05", "AM", "PM").Replace(pattern)
}

// dateLayouts are the layouts of dates whose parts stand in an order, with or
// without leading zeros, between slashes, points or dashes, and of a time after
// them; nil for no order.
func dateLayouts(order string) (out []string) {
	parts := map[string][]string{"DMY": {"2", "1", "2006"}, "MDY": {"1", "2", "2006"},
		"YMD": {"2006", "1", "2"}}[strings.ToUpper(order)]
	if parts == nil {
		return nil
	}
	for _, between := range []string{"/", ".", "-"} {
		date := strings.Join(parts, between)
		for _, clock := range []string{" 15:04:05", " 15:04", " 3:04:05 PM", " 3:04 PM", "T15:04:05",
			"T15:04", ""} {
			out = append(out, date+clock)
		}
	}
	return out
}

// wholeMoment reports whether what is written in a layout is one moment: two that
// differ by a year, a month, a day or an hour must look different.
func wholeMoment(layout string) bool {
	at := time.Date(2025, 1, 1, 1, 1, 1, 0, time.UTC)
	shown := at.Format(layout)
	for _, other := range []time.Time{at.AddDate(1, 0, 0), at.AddDate(0, 1, 0), at.AddDate(0, 0, 1)} {
		if other.Format(layout) == shown {
			return false
		}
	}
	minutes := at.Add(time.Minute).Format(layout) != shown || at.Add(time.Second).Format(layout) != shown
	return !minutes ||
		at.Add(time.Hour).Format(layout) != shown && at.Add(12*time.Hour).Format(layout) != shown
}
