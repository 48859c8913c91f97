package story_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	. "tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	. "tallywalk/traveler/story"
)

// dump writes the story in lines that a person can check.
func (p *play) dump() string {
	names := make([]string, 0, len(p.families))
	for n := range p.families {
		names = append(names, n)
	}
	slices.Sort(names)
	var w strings.Builder
	for _, n := range names {
		p.dumpFamily(&w, p.families[n])
	}
	return w.String()
}

func (p *play) dumpFamily(w *strings.Builder, f *Family) {
	for i := range f.Batches {
		p.dumpBatch(w, f, i)
	}
	for _, l := range f.Lines.All() {
		if l.Fate != FateStands || l.Uncertain {
			mark := ""
			if l.Uncertain {
				mark = ", time uncertain"
			}
			fmt.Fprintf(w, "  scan %s %s %s: %s%s\n", hhmm(l.At), l.Entry.Machine, l.Entry.Scan.Action,
				l.Fate, mark)
		}
	}
	for _, q := range f.Questions() {
		fmt.Fprintf(w, "  question %s op %d: %s %v", q.Kind, q.Operation, p.readable(q.Known.Text("en")),
			q.Choices)
		if q.Settled != nil {
			fmt.Fprintf(w, " settled: %s", q.Settled.Choice)
		}
		w.WriteString("\n")
	}
}

func (p *play) dumpBatch(w *strings.Builder, f *Family, i int) {
	b, s := &f.Batches[i], f.Sum(i)
	fmt.Fprintf(w, "%s %s: started %d good %d scrap %d rework %d review %d missing %d to do %d",
		p.names[b.Card], f.State(i),
		s.Started, s.Good, s.Scrap, s.Rework, s.ReviewOpen, s.Missing, s.ToDo)
	for n, t := range tripsOf(f, i) {
		if n == 0 {
			fmt.Fprintf(w, " carried %s", t.From)
		}
		fmt.Fprintf(w, ">%s", t.To)
	}
	for _, d := range b.Deliveries {
		fmt.Fprintf(w, " delivered %d", d.Pieces)
	}
	if b.Stock > 0 {
		fmt.Fprintf(w, " to stock %d", b.Stock)
	}
	if b.Joined != "" {
		fmt.Fprintf(w, " joined to %s", p.names[b.Joined])
	}
	if len(b.Lots) > 1 {
		fmt.Fprintf(w, " lots %s", strings.Join(b.Lots, " "))
	}
	if n := f.Short(i); n > 0 {
		fmt.Fprintf(w, " short %d", n)
	}
	w.WriteString("\n")
	for _, c := range b.Changes {
		fmt.Fprintf(w, "  changed %s from %q to %q: %s\n", c.What, c.From, c.To, c.Reason)
	}
	for _, t := range b.Ticks {
		fmt.Fprintf(w, "  for op %d %s %s by %s\n", t.Operation, cmp.Or(t.Thing, "all"), t.State,
			cmp.Or(string(t.By), t.Name))
	}
	for _, o := range b.Ops {
		if lacks := f.Missing(p.shop, i, o.Number, f.Last()); len(lacks) > 0 {
			fmt.Fprintf(w, "  op %d lacks %s\n", o.Number, strings.Join(lacks, " "))
		}
	}
	for _, t := range f.Tallies(i) {
		p.dumpTally(w, &t)
	}
	for j := range f.Visits {
		if f.Visits[j].Batch == i {
			p.dumpVisit(w, f, j)
		}
	}
}

func (p *play) dumpTally(w *strings.Builder, t *Tally) {
	if t.In == 0 && t.Counted == 0 {
		return
	}
	fmt.Fprintf(w, "  op %d: in %d good %d", t.Operation, t.In, t.Good)
	for _, x := range []struct {
		n    int
		word string
	}{{t.Scrap, "scrap"}, {t.ReworkOpen, "in rework"}, {t.ReviewOpen, "in review"}, {t.Missing, "missing"},
		{t.Concession, "concession"}, {t.Assumed, "assumed"}, {t.Over, "over"}, {t.ToDo, "to do"}} {
		if x.n != 0 {
			fmt.Fprintf(w, " %s %d", x.word, x.n)
		}
	}
	w.WriteString("\n")
}

func (p *play) dumpVisit(w *strings.Builder, f *Family, j int) {
	v := &f.Visits[j]
	fmt.Fprintf(w, "  visit op %d %s %s arrived %s", v.Operation, v.Machine, v.State, hhmm(v.Arrived))
	if v.ReworkFor != 0 {
		fmt.Fprintf(w, " rework for %d", v.ReworkFor)
	}
	if e := v.Ended(); !e.IsZero() {
		fmt.Fprintf(w, " ended %s", hhmm(e))
	}
	for _, x := range []struct {
		n    int
		word string
	}{{v.Good, "good"}, {v.Scrap, "scrap"}, {v.Rework, "rework"}, {v.Review, "review"},
		{v.Missing, "missing"}, {v.SetupPieces, "of them setting"}} {
		if x.n != 0 {
			fmt.Fprintf(w, " %s %d", x.word, x.n)
		}
	}
	if v.FirstOff != "" {
		fmt.Fprintf(w, " first-off %s", v.FirstOff)
	}
	for _, m := range v.Measured {
		fmt.Fprintf(w, " %s found %g beyond %.3f", m.Dimension, m.Found, m.Beyond())
	}
	if in := v.Inferred(); len(in) > 0 {
		fmt.Fprintf(w, " inferred %s", strings.Join(in, "+"))
	}
	if len(v.People) > 1 {
		fmt.Fprintf(w, " by %v", v.People)
	}
	w.WriteString("\n")
	for _, s := range f.SpansOf(j) {
		mark := ""
		if s.Inferred {
			mark = " inferred"
		}
		if s.Reason != "" {
			mark += " " + s.Reason
		}
		if len(v.People) > 1 && s.By != "" {
			mark += " by " + string(s.By)
		}
		fmt.Fprintf(w, "    %s %s-%s%s\n", s.Kind, hhmm(s.From), hhmm(s.To), mark)
	}
	for _, s := range f.ClosedOf(j) {
		fmt.Fprintf(w, "    closed in %s %s-%s\n", s.Kind, hhmm(s.From), hhmm(s.To))
	}
}

func tripsOf(f *Family, batch int) []Trip {
	var out []Trip
	for _, t := range f.Trips {
		if t.Batch == batch {
			out = append(out, t)
		}
	}
	return out
}

func hhmm(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	d := int(t.Sub(day) / (24 * time.Hour))
	if d != 0 {
		return fmt.Sprintf("+%d/%s", d, t.Format("15:04"))
	}
	return t.Format("15:04")
}

// readable puts the test's names for cards in place of their codes.
func (p *play) readable(s string) string {
	for c, n := range p.names {
		s = strings.ReplaceAll(s, string(c), n)
	}
	return s
}

// invariants holds what must be true of every story: a rebuild gives the same,
// and pieces are conserved.
func (p *play) invariants() {
	p.t.Helper()
	for _, f := range p.families {
		checkFamily(p.t, p.shop, f)
	}
}

type failer interface {
	Helper()
	Errorf(string, ...any)
}

func checkFamily(t failer, shop *Shop, f *Family) {
	t.Helper()
	if a, b := dump(f), dump(Fold(shop, f.Record())); a != b {
		t.Errorf("a rebuild makes another story: %s", firstDifference(a, b))
	}
	for i := range f.Batches {
		checkPieces(t, f, i)
		checkParts(t, shop, f, i)
	}
}

// checkParts holds that the parts of a lead time add up to it (ISO 22400-2:
// order execution time is busy time, transport and queue), and that none is
// less than nothing.
func checkParts(t failer, shop *Shop, f *Family, i int) {
	t.Helper()
	m := measure.Meter{Shop: shop, Floors: &ground.Floors{}, Now: f.Last().Add(time.Hour)}
	b := m.Batch(f, i)
	if sum, lead := b.Parts.Sum(), b.Lead(m.Now); sum != lead {
		t.Errorf("batch %s: the parts are %v together, the lead time is %v: %+v", b.Card, sum, lead, b.Parts)
	}
	least := func(p *Parts) time.Duration {
		return min(p.Run, p.Setup, p.FirstOff, p.Stop, p.Outside, p.Transport, p.Queue, p.Between)
	}
	if least(&b.Parts) < 0 {
		t.Errorf("batch %s: %+v", b.Card, b.Parts)
	}
	for k := range b.Visits {
		if v := &b.Visits[k]; least(&v.Parts) < 0 || v.Closed < 0 || v.Waited < 0 {
			t.Errorf("batch %s, visit %s: %+v", b.Card, v.Visit, v)
		}
	}
}

// checkPieces holds in = good + scrap + rework + review + missing + still to do
// at every operation, and across them.
func checkPieces(t failer, f *Family, i int) {
	t.Helper()
	b := &f.Batches[i]
	ts := f.Tallies(i)
	moved := func(op Op) (n int) {
		for _, x := range b.In {
			if x.Before == op {
				n += x.N
			}
		}
		for _, x := range b.Out {
			if x.Before == op {
				n -= x.N
			}
		}
		return n
	}
	prev := f.Sum(i).Started
	for _, x := range ts {
		if x.Operation < b.First {
			continue
		}
		if got := x.Good + x.Scrap + x.ReworkOpen + x.ReviewOpen + x.Missing + x.ToDo; got != x.In {
			t.Errorf("op %d: %d in, %d accounted for: %+v", x.Operation, x.In, got, x)
		}
		if x.ToDo < 0 || x.In < 0 || x.ReviewOpen < 0 || x.ReworkOpen < 0 {
			t.Errorf("op %d: negative pieces: %+v", x.Operation, x)
		}
		if x.In > prev+moved(x.Operation)+x.Over {
			t.Errorf("op %d: %d in, but %d let go, %d moved, %d over", x.Operation, x.In, prev,
				moved(x.Operation), x.Over)
		}
		prev = x.Good
	}
	s := f.Sum(i)
	if s.Started+s.In-s.Out+s.Over != s.Good+s.Scrap+s.ReworkOpen+s.ReviewOpen+s.Missing+s.ToDo {
		t.Errorf("batch %s: pieces are lost: %+v", b.Card, s)
	}
	if s.ToDo < 0 {
		t.Errorf("batch %s: negative to do: %+v\n%+v", b.Card, s, ts)
	}
}

// dump is all of a story that must not depend on how it was folded.
func dump(f *Family) string {
	lines := make([]string, f.Lines.Len())
	for i, l := range f.Lines.All() {
		lines[i] = fmt.Sprint(l.Entry.Scan.ID, l.At, l.Uncertain, l.Fate, l.Batch, l.Visit, l.By, l.Anyway)
	}
	b, err := json.MarshalIndent(
		[]any{f.Batches, f.Visits, f.Spans, f.Closed, f.Trips, lines, f.Questions(), f.Settled}, "", " ")
	if err != nil {
		panic(err)
	}
	return string(b)
}

// firstDifference shows where two long texts part.
func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			from := max(0, i-12)
			return fmt.Sprintf("after\n%s\none has\n%s\nthe other\n%s", strings.Join(x[from:i], "\n"),
				strings.Join(x[i:min(i+6, len(x))], "\n"), strings.Join(y[i:min(i+6, len(y))], "\n"))
		}
	}
	return "one is longer"
}

func TestReadable(t *testing.T) {
	if hhmm(day.Add(26*time.Hour)) != "+1/02:00" {
		t.Error(hhmm(day.Add(26 * time.Hour)))
	}
}
