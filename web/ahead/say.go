package ahead

import (
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
)

// speaker makes the sentences of an advice in a language. It says what follows, never
// what is to be done.
type speaker string

func (l speaker) say(key string, args ...string) string {
	return traveler.Msg{Key: key, Args: args}.Text(string(l))
}

// tenth is a number with one decimal, with the decimal sign of the language (CLDR).
func (l speaker) tenth(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	if l != speaker(traveler.English) {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// minutes is a planned time in whole minutes.
func (l speaker) minutes(s float64) string {
	return strconv.Itoa(int((time.Duration(s) * time.Second).Round(time.Minute) / time.Minute))
}

// name is what people call a batch of a line by: its works order, with its card where
// that means several of them.
func (v *nextView) name(b *nextBatch) string {
	if b.WorksOrder == "" {
		return string(b.Card)
	}
	for i := range v.Waiting {
		if o := &v.Waiting[i]; o.WorksOrder == b.WorksOrder && o.Card != b.Card {
			return b.WorksOrder + " (" + string(b.Card) + ")"
		}
	}
	return b.WorksOrder
}

// batch says what follows from taking the i-th of a line first.
func (l speaker) batch(v *nextView, i int) string {
	b, out := &v.Waiting[i], []string{}
	if b.Saves > 0 {
		out = append(out, l.say("next.saves", l.minutes(b.Saves), b.Part))
	}
	if f := b.First; f != nil {
		out = append(out, l.follows(f))
	} else if v.State == "ready" && i > 0 && i <= candidates && takes(b) {
		out = append(out, l.say("next.finding"))
	}
	return strings.Join(out, " ")
}

func (l speaker) follows(f *takenFirst) string {
	switch {
	case f.LateAfter == f.LateBefore && !f.worse() && f.DaysAfter > f.DaysBefore-0.1:
		return l.say("next.same")
	case f.LateAfter == f.LateBefore:
		return l.say("next.days", l.tenth(f.DaysAfter), l.tenth(f.DaysBefore))
	default:
		return l.say(
			"next.first", strconv.Itoa(f.LateAfter), strconv.Itoa(f.LateBefore), l.tenth(f.DaysAfter),
			l.tenth(f.DaysBefore),
		)
	}
}

// advice says which batch is next, and which other one could be taken without harm and
// with a gain.
func (l speaker) advice(v *nextView) string {
	if len(v.Waiting) == 0 {
		return l.say("next.none", string(v.Machine))
	}
	first := &v.Waiting[0]
	if !takes(first) {
		return l.say("next.barred", string(v.Machine))
	}
	out := l.say("next.order", v.name(first), l.say("rule."+string(v.Rule)))
	if other := gains(v); other != nil && other.Saves > 0 {
		return out + " " + l.say("next.instead.setup", v.name(other), l.minutes(other.Saves))
	} else if other != nil {
		return out + " " + l.say(
			"next.instead", v.name(other), strconv.Itoa(other.First.LateAfter),
			strconv.Itoa(other.First.LateBefore),
		)
	}
	return out
}

// gains is the batch that could be taken first with a gain: fewer late, or a set-up
// saved, and nothing worse. The first of a line for which the machine is set up already
// leaves nothing to gain of that.
func gains(v *nextView) *nextBatch {
	var best *nextBatch
	for i := 1; i < len(v.Waiting); i++ {
		b := &v.Waiting[i]
		if b.First == nil || b.First.worse() {
			continue
		}
		fewer := b.First.LateBefore - b.First.LateAfter
		saves := b.Saves > 0 && v.Waiting[0].Saves == 0
		if fewer <= 0 && !saves {
			continue
		}
		if best == nil || fewer > best.First.LateBefore-best.First.LateAfter {
			best = b
		}
	}
	return best
}
