package labels

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// count writes a whole number with a thin space between thousands from five
// digits on (ISO 80000-1 groups digits by small spaces).
func count(n int) string {
	s := strconv.Itoa(n)
	sign := ""
	if s[0] == '-' {
		sign, s = "-", s[1:]
	}
	if len(s) < 5 {
		return sign + s
	}
	var b strings.Builder
	for i := range len(s) {
		if i > 0 && (len(s)-i)%3 == 0 {
			b.WriteRune('\u2009')
		}
		b.WriteByte(s[i])
	}
	return sign + b.String()
}

// number writes a plan's figure with at most two decimals; what is no plan
// (negative, not a number, endless) is a dash.
func (t Texts) number(v float64) string {
	if math.IsNaN(v) || v < 0 || v > 1e9 {
		return "–"
	}
	if 0 < v && v < 0.005 {
		return "<0" + t.say("decimal_sign") + "01"
	}
	s := strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
	return strings.Replace(s, ".", t.say("decimal_sign"), 1)
}

// due writes the day large and its week, and the time if there is one, small.
func (t Texts) due(d time.Time) (day, small string) {
	if d.IsZero() {
		return t.say("no_due"), ""
	}
	names := [...]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}
	day = t.say(names[d.Weekday()]) + " " + d.Format(t.say("date"))
	_, week := d.ISOWeek()
	small = t.say("week") + " " + strconv.Itoa(week)
	if d.Hour() != 0 || d.Minute() != 0 {
		small += ", " + d.Format("15:04")
	}
	return day, small
}

// times writes what is planned for an operation.
func (t Texts) times(o *CardOperation) string {
	var p []string
	if o.Outside {
		days := t.say("days")
		if o.OutsideDays == 1 {
			days = t.say("day")
		}
		p = append(p, t.say("outside")+" "+t.number(o.OutsideDays)+" "+days)
	}
	if !o.Outside || o.SetupMin > 0 {
		p = append(p, t.say("setup")+" "+t.number(o.SetupMin)+" "+t.say("min"))
	}
	if !o.Outside || o.CycleMin > 0 {
		p = append(p, t.pace(o))
	}
	if o.Clampings > 0 {
		word := "clampings"
		if o.Clampings == 1 {
			word = "clamping"
		}
		p = append(p, count(o.Clampings)+" "+t.say(word))
	}
	for i := range p {
		p[i] = strings.ReplaceAll(p[i], " ", noBreak)
	}
	return strings.Join(p, noBreak+"· ")
}

// noBreak is a blank at which wrap does not break.
const noBreak = "\u00a0"

func (t Texts) pace(o *CardOperation) string {
	each := max(1, o.PiecesPerCycle)
	s := t.number(o.CycleMin/float64(each)) + " " + t.say("min_piece")
	if each > 1 {
		s += " (" + count(each) + " " + t.say("a_cycle") + ")"
	}
	return s
}

// printedAt is the date of printing, or nothing when it is not known.
func (t Texts) printedAt(at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return t.say("printed") + " " + at.Format(t.say("date_time"))
}
