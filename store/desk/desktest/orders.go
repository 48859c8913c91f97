package desktest

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
)

// AnyOrder fails when scans that arrive together give other stories, boards, facts or
// answers in another order: that of each device and of each batch stays, and that of
// batches which scans brought together. Sequences differ then, and all that is made of
// them. The expectation has no source outside: what one batch went through is not a matter
// of what others did at the time. A round draws one history and orders it in three ways.
func AnyOrder(t *testing.T, rounds int, open func(t testing.TB) story.Log) {
	for seed := range rounds {
		draws := make([]byte, 1<<15)
		if _, err := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), 9}).Read(draws); err != nil {
			t.Fatal(err)
		}
		rapid.MakeFuzz(func(rt *rapid.T) {
			first := newRun(t, setting{name: "as drawn"}, open(t))
			steps := first.drawTogether(rt)
			want, end := first.sense(), first.at()
			first.close()
			groups := together(steps)
			chance := rand.New(rand.NewPCG(uint64(seed), 9))
			for way := range 3 {
				r := newRun(t, setting{name: fmt.Sprint("order ", way)}, open(t))
				for i := range steps {
					s := steps[i]
					s.said = reordered(s.said, groups, chance)
					r.take(&s)
				}
				r.put(end)
				same(rt, fmt.Sprintf("seed %d, order %d", seed, way), r.sense(), want)
				r.close()
			}
		})(t, draws)
	}
}

// drawTogether makes up steps of many scans each. Nothing is split: which card a split
// gives is a matter of chance, and of how many were given before.
func (r *run) drawTogether(t *rapid.T) (steps []step) {
	shift := r.shift()
	for range rapid.IntRange(2, 4).Draw(t, "batches") {
		s := step{release: &traveler.Release{ID: shift.ID(), Part: "bracket", RouteRev: "1", Pieces: 20}}
		s.at = r.at()
		shift.Cards = append(shift.Cards, r.take(&s)[0].Card)
		steps = append(steps, s)
	}
	for range rapid.IntRange(1, 4).Draw(t, "steps") {
		s := step{said: shift.Send(t, 40)}
		s.said = slices.DeleteFunc(s.said,
			func(x story.Said) bool { return x.Scan.Action == traveler.ActSplit })
		s.at = r.at()
		if len(s.said) > 0 {
			r.take(&s)
			steps = append(steps, s)
		}
	}
	return steps
}

// reordered draws another order in which each device's and each group's scans stay in theirs.
func reordered(said []story.Said, groups map[string]string, chance *rand.Rand) (out []story.Said) {
	left := slices.Clone(said)
	for len(left) > 0 {
		blocked := map[string]bool{}
		var free []int
		for i := range left {
			s := &left[i].Scan
			device, group := "device "+string(s.Device), "group "+groups[s.Card]
			if !blocked[device] && !blocked[group] {
				free = append(free, i)
			}
			blocked[device], blocked[group] = true, true
		}
		i := free[chance.IntN(len(free))]
		out = append(out, left[i])
		left = slices.Delete(left, i, i+1)
	}
	return out
}

// together gives each card the name of a group: that of all cards which scans brought
// together, by a join, or by speaking of each other's scans.
func together(steps []step) map[string]string {
	groups := map[string]string{}
	name := func(x string) string {
		if groups[x] == "" {
			groups[x] = x
		}
		return groups[x]
	}
	join := func(a, b string) {
		from, to := name(a), name(b)
		for x, group := range groups {
			if group == from {
				groups[x] = to
			}
		}
	}
	for _, st := range steps {
		for i := range st.said {
			s := &st.said[i].Scan
			join(string(s.ID), s.Card)
			if about := strings.TrimPrefix(s.For, "scan:"); about != "" {
				join(s.Card, about)
			}
		}
	}
	return groups
}

// sense is all that people see, without sequences and what is made of them.
func (r *run) sense() map[string]string {
	out := map[string]string{}
	r.must(r.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		out["facts "+string(b.Card)] = r.plain(b)
		return true
	}))
	r.desk.Open(func(f *story.Family) bool {
		name := string(f.Root)
		out["board "+name] = r.plain(board.Rows(r.desk.Shop(), f, r.at().Format("2006-01-02"), r.at()))
		out["batches "+name], out["visits "+name] = r.plain(f.Batches), r.plain(f.Visits)
		var lines []string
		for _, l := range f.Lines.All() {
			lines = append(lines,
				r.plain([]any{l.Entry.ID(), l.At, l.Uncertain, l.Fate, l.Entry.Outcome, l.Entry.Say}))
		}
		out["lines "+name] = r.plain(lines)
		return true
	})
	return out
}

var sequences = regexp.MustCompile(`"(Seq|seq|Entry|Basis|Target)":("[^"]*"|[0-9]+)`)

func (r *run) plain(v any) string { return sequences.ReplaceAllString(r.text(v), `"$1":0`) }
