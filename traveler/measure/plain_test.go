package measure

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// What is added up batch by batch, with little kept of each, is here added up a
// second, plain way: all batches in memory, times as times, maps by names. Both
// must agree to the last digit.

// someBatches draws batches of three parts on three machines, in about a month.
func someBatches(t *rapid.T) []story.BatchFact {
	out := make([]story.BatchFact, rapid.IntRange(0, 12).Draw(t, "batches"))
	moment := func(name string) time.Time {
		return monday.Add(time.Duration(rapid.IntRange(-200, 900).Draw(t, name)) * time.Hour)
	}
	for i := range out {
		b := &out[i]
		b.Card, b.Part, b.Rev = traveler.Code(
			fmt.Sprint("B", i)), rapid.SampledFrom([]string{"P", "Q", "R"}).Draw(t, "part"), "1"
		b.Order, b.Line = rapid.SampledFrom([]string{"", "W1", "W2", "W"}).Draw(t,
			"order"), rapid.SampledFrom([]string{"", "1", "11"}).Draw(t, "line")
		b.State = rapid.SampledFrom(
			[]story.BatchState{story.StateDone, story.StateRunning, story.StateCancelled}).Draw(t, "state")
		b.Wanted, b.Good = rapid.IntRange(0, 9).Draw(t, "wanted"), rapid.IntRange(0, 9).Draw(t, "good")
		if rapid.Bool().Draw(t, "dated") {
			b.Due = moment("due")
		}
		for range rapid.IntRange(0, 2).Draw(t, "deliveries") {
			b.Deliveries = append(b.Deliveries,
				story.Delivery{Pieces: rapid.IntRange(1, 9).Draw(t, "left"), At: moment("at")})
		}
		if b.State != story.StateRunning {
			b.Ended = moment("ended")
		}
		b.Ops = []story.OpFact{{Operation: 10, WorkCentre: "TURN", PlanPiece: time.Minute}}
		for range rapid.IntRange(0, 4).Draw(t, "visits") {
			b.Visits = append(b.Visits, someVisit(t, moment))
			if v := &b.Visits[len(b.Visits)-1]; !v.Begun.IsZero() &&
				(b.Begun.IsZero() || v.Begun.Before(b.Begun)) {
				b.Begun = v.Begun
			}
		}
	}
	return out
}

func someVisit(t *rapid.T, moment func(string) time.Time) story.VisitFact {
	v := story.VisitFact{
		Operation: rapid.SampledFrom([]traveler.Op{10, 20}).Draw(t, "op"),
		Machine:   traveler.MachineID(fmt.Sprint("L", rapid.IntRange(1, 3).Draw(t, "machine"))),
		Good:      rapid.IntRange(0, 9).Draw(t, "good"), Scrap: rapid.IntRange(0, 2).Draw(t, "scrap"),
		NoStart: rapid.Bool().Draw(t, "no start"),
	}
	if rapid.IntRange(0, 4).Draw(t, "begun") > 0 {
		v.Begun = moment("begun")
	}
	at := v.Begun
	if at.IsZero() {
		at = moment("at")
	}
	for range rapid.IntRange(0, 3).Draw(t, "busy") {
		from := at.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "gap")) * time.Hour)
		at = from.Add(time.Duration(rapid.IntRange(0, 9).Draw(t, "long")) * time.Hour)
		kind := rapid.SampledFrom(
			[]story.SpanKind{story.SpanRun, story.SpanSetup, story.SpanFirstOff, story.SpanStop}).Draw(t,
			"kind")
		v.Busy = append(v.Busy, story.BusyFact{Kind: kind, From: from, To: at})
	}
	if rapid.Bool().Draw(t, "over") {
		v.Ended = at
	}
	if rapid.IntRange(0, 9).Draw(t, "outside") == 0 {
		v.Parts.Outside = time.Hour
	}
	return v
}

func TestMachinesAddUpPlainly(t *testing.T) {
	shop := new(traveler.Shop).With(
		&traveler.Change{From: monday.AddDate(-1, 0, 0),
			Machines: []traveler.Machine{{ID: "L1"}, {ID: "L2"}, {ID: "L4"}}})
	rapid.Check(t, func(t *rapid.T) {
		batches := someBatches(t)
		from := monday.Add(time.Duration(rapid.IntRange(-100, 300).Draw(t, "from")) * time.Hour)
		to := from.Add(time.Duration(rapid.IntRange(1, 500).Draw(t, "length")) * time.Hour)
		got, want := MachinesOf(shop, batches, from, to), machinesPlainly(shop, batches, from, to)
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v\nplainly %+v", got, want)
		}
		sum := Machines{From: from, To: to}
		first := time.Time{}
		for i := range batches {
			sum.Add(&batches[i])
			if b := batches[i].Begun; !b.IsZero() && (first.IsZero() || b.Before(first)) {
				first = b
			}
		}
		if !sum.First().Equal(first) {
			t.Fatalf("the first work began at %v, not %v", first, sum.First())
		}
		// A period that is counted from the day of the first work on.
		if day := first.Truncate(24 * time.Hour); day.After(from) && day.Before(to) {
			if got, want := sum.Result(shop, day),
				machinesPlainly(shop, batches, day, to); !reflect.DeepEqual(got, want) {
				t.Fatalf("since %v %+v\nplainly %+v", day, got, want)
			}
		}
	})
}

func machinesPlainly(shop *traveler.Shop, batches []story.BatchFact,
	from, to time.Time) (out []MachineHours) {
	for _, m := range shop.Machines(to) {
		h := MachineHours{Machine: m.ID}
		h.Open, h.Calendar = shop.OpenBetween(m.ID, from, to)
		var edges []edge
		at := map[traveler.Code]bool{}
		for _, b := range batches {
			for _, v := range b.Visits {
				if v.Machine != m.ID || v.Begun.IsZero() || v.Parts.Outside > 0 || !v.Begun.Before(to) ||
					!v.Ended.IsZero() && v.Ended.Before(from) {
					continue
				}
				for _, x := range v.Busy {
					a, z := later(x.From, from), x.To
					if z.After(to) {
						z = to
					}
					if z.After(a) {
						edges = append(edges, edge{a, partOf[x.Kind], 1}, edge{z, partOf[x.Kind], -1})
					}
				}
				at[b.Card] = true
				h.Visits++
				if v.Inferred() {
					h.Inferred++
				}
				if n := v.Good + v.Scrap + v.Rework + v.Review; !v.Ended.IsZero() && !v.Ended.Before(from) &&
					v.Ended.Before(to) {
					h.Pieces, h.Good, h.Scrap, h.Rework = h.Pieces+n, h.Good+v.Good, h.Scrap+
						v.Scrap, h.Rework+v.Rework
					h.Planned += time.Duration(n) * planPiece(&b, v.Operation)
				}
			}
		}
		h.Batches = len(at)
		p := sweep(edges, from, to)
		h.Run, h.Setup, h.FirstOff, h.Stop = p.Run, p.Setup, p.FirstOff, p.Stop
		out = append(out, h)
	}
	return out
}

func TestOnTimeAddsUpPlainly(t *testing.T) {
	end := func(due time.Time) time.Time { return due.Add(24 * time.Hour) }
	rapid.Check(t, func(t *rapid.T) {
		batches := someBatches(t)
		now := monday.Add(time.Duration(rapid.IntRange(-100, 900).Draw(t, "now")) * time.Hour)
		sum := OnTimes{DueEnd: end}
		for i := range batches {
			sum.Add(&batches[i])
		}
		got, want := sum.Result(now), onTimePlainly(batches, now, end)
		if got != want {
			t.Fatalf("%+v\nplainly %+v", got, want)
		}
		if got.Lines != got.InFull+got.Late+got.Short-got.LateShort || got.ByDate() < got.InFull {
			t.Fatalf("%+v does not add up", got)
		}
	})
}

func onTimePlainly(batches []story.BatchFact, now time.Time, end func(time.Time) time.Time) (out OnTime) {
	type line struct{ order, line, part, card string }
	of := map[line][]*story.BatchFact{}
	for i := range batches {
		b := &batches[i]
		k := line{b.Order, b.Line, b.Part, ""}
		if b.Order == "" {
			k.card = string(b.Card)
		}
		switch {
		case b.State == story.StateCancelled:
		case b.Due.IsZero():
			out.NoDate++
		default:
			of[k] = append(of[k], b)
		}
	}
	for _, list := range of {
		wanted, byDue, ever, due, open, after := 0, 0, 0, end(list[0].Due), false, false
		for _, b := range list {
			wanted += b.Wanted
			due = later(due, end(b.Due))
			open = open || b.Ended.IsZero()
			left := b.Deliveries
			if len(left) == 0 && b.State == story.StateDone {
				left = []story.Delivery{{Pieces: b.Good, At: b.Ended}}
			}
			for _, d := range left {
				ever += d.Pieces
				if !d.At.After(end(b.Due)) {
					byDue += d.Pieces
				} else if d.Pieces > 0 {
					after = true
				}
			}
		}
		if wanted == 0 || ever < wanted && now.Before(due) {
			continue
		}
		out.Lines, out.Pieces, out.OnTimePieces = out.Lines+1, out.Pieces+wanted, out.OnTimePieces+min(wanted,
			byDue)
		late, short := byDue < wanted && (open || after), ever < wanted && !open
		if byDue >= wanted {
			out.InFull++
		}
		if late {
			out.Late++
		}
		if short {
			out.Short++
		}
		if late && short {
			out.LateShort++
		}
	}
	return out
}
