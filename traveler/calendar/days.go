package calendar

import (
	"fmt"
	"strings"
	"time"
)

const daysHint = "write days such as mon-fri, or mon,wed,sat, or daily"

// dayOf finds a day of the week by its name, in full or by three letters.
func dayOf(name string) (time.Weekday, bool) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		full := strings.ToLower(d.String())
		if name == full || name == full[:3] {
			return d, true
		}
	}
	return 0, false
}

// Days reads days of the week: single ones and ranges, separated by commas, or "daily".
// A range may pass the end of the week, as "fri-mon" does. The result is by
// time.Weekday, so that Sunday comes first. It fails when the text is empty or names no
// day.
func Days(text string) ([7]bool, error) {
	var days [7]bool
	text = strings.ToLower(strings.TrimSpace(text))
	if text == "" {
		return days, fmt.Errorf("must be given; %s", daysHint)
	}
	if text == "daily" {
		return [7]bool{true, true, true, true, true, true, true}, nil
	}
	for item := range strings.SplitSeq(text, ",") {
		first, last, isRange := strings.Cut(item, "-")
		if !isRange {
			last = first
		}
		from, ok := dayOf(strings.TrimSpace(first))
		if !ok {
			return [7]bool{}, noDay(first)
		}
		to, ok := dayOf(strings.TrimSpace(last))
		if !ok {
			return [7]bool{}, noDay(last)
		}
		for d := from; ; d = (d + 1) % 7 {
			days[d] = true
			if d == to {
				break
			}
		}
	}
	return days, nil
}

func noDay(name string) error {
	return fmt.Errorf("has %q, which is no day of the week; %s", strings.TrimSpace(name), daysHint)
}

// short is the name of a day in a message.
func short(d time.Weekday) string { return strings.ToLower(d.String()[:3]) }
