package main

import (
	"bytes"
	"crypto/rand"
	"fmt"
	mrand "math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// logRow is a row of a log that was made up, as it was meant; text is what
// stands in the file.
type logRow struct {
	batch, part, op, machine, person string
	setup                            bool
	start, end                       time.Time
	good, scrap, review              int
	text                             string
	left                             bool // the import leaves it out
	odd                              string
}

// madeUp is a log with some five thousand rows of an invented shop, with the
// dirt that real ones have. The times are those of a clock in Berlin, over the
// end of summer time.
type madeUp struct {
	rng  *mrand.Rand
	zone *time.Location
	rows []logRow
	odd  map[string]int
}

const logHead = "Order;Item;Lot size;Step;Workplace;Who;Sort;From;To;OK;NOK;Blocked"

func (m *madeUp) clock(t time.Time) string { return t.In(m.zone).Format("02.01.2006 15:04:05") }

func (m *madeUp) put(r logRow, lot int) {
	sort := "P"
	if r.setup {
		sort = "S"
	}
	r.text = strings.Join([]string{r.batch, r.part, strconv.Itoa(lot), r.op, r.machine, r.person, sort,
		m.clock(r.start), m.clock(r.end),
		strconv.Itoa(r.good), strconv.Itoa(r.scrap), strconv.Itoa(r.review)}, ";")
	m.rows = append(m.rows, r)
}

// dirty spoils a row that was put last, in the file and in what it means.
func (m *madeUp) dirty(i int) {
	r := &m.rows[i]
	cells := strings.Split(r.text, ";")
	switch m.rng.IntN(60) {
	case 0: // twice
		again := *r
		again.left, again.odd = true, "stand there twice"
		m.rows = append(m.rows, again)
		return
	case 1: // the end lies before the start
		cells[8], r.end = m.clock(r.start.Add(-time.Hour)), r.start
		r.odd = "before they start"
	case 2: // no end
		cells[8], r.end = "", r.start
		r.odd = "have no end"
	case 3: // no time at all
		cells[8], r.end = cells[7], r.start
		r.odd = "end when they start"
	case 4: // of no batch
		cells[0], r.left = " ", true
		r.odd = "have no batch"
	case 5: // decimals
		cells[9] += ",00"
	case 6:
		cells[9] += ",4"
		r.odd = "fraction of a piece"
	case 7:
		cells[10], r.scrap = "-1", 0
		r.odd = "fewer than no pieces"
	case 8:
		cells[11], r.review = "n/a", 0
		r.odd = "cannot be read"
	}
	r.text = strings.Join(cells, ";")
}

// steps are named by text only, some of them on several machines.
var logSteps = []struct {
	op       string
	machines []string
}{
	{"Sawing", []string{"Saw"}},
	{"Turning & Milling", []string{"Machine 4", "Machine 5", "Machine 6"}},
	{"Turning & Milling - second side", []string{"Machine 4", "Machine 8"}},
	{"Flat grinding", []string{"Grinder 1"}},
	{"Washing / drying", []string{"Bath A/B"}},
	{"Final inspection", []string{"Bench"}},
	{"Packing", []string{"Packing"}},
}

// work makes the rows of one batch.
func (m *madeUp) work(n int, from time.Time) {
	batch, part := fmt.Sprintf("Case %d", n), fmt.Sprintf("Item %d", n%9)
	lot := 10 + m.rng.IntN(90)
	at, pieces := from, lot
	for k, step := range logSteps {
		if (k == 3 && n%9 > 4) || (k == 0 && n%9 == 2) {
			continue
		}
		at = at.Add(time.Duration(m.rng.IntN(40*3600)) * time.Second)
		machine := step.machines[m.rng.IntN(len(step.machines))]
		r := logRow{batch: batch, part: part, op: step.op, machine: machine,
			person: fmt.Sprintf("ID%d", m.rng.IntN(30))}
		if k > 0 && k < 5 {
			s := r
			s.setup, s.start = true, at
			at = at.Add(time.Duration(600+m.rng.IntN(7200)) * time.Second)
			if s.end = at; m.rng.IntN(5) == 0 {
				s.good = 1 // a piece comes out while setting
				pieces--
			}
			m.put(s, lot)
			m.dirty(len(m.rows) - 1)
			pieces += s.good
			r.good = -s.good
		}
		m.sessions(r, &at, &pieces, lot)
	}
}

// sessions makes the production rows of an operation: in one go or over days,
// now and then two of them at once.
func (m *madeUp) sessions(r logRow, at *time.Time, pieces *int, lot int) {
	left, sessions := *pieces+r.good, 1+m.rng.IntN(4)
	r.good = 0
	for s := range sessions {
		x := r
		x.start = *at
		x.end = at.Add(time.Duration(900+m.rng.IntN(20000)) * time.Second)
		n := left
		if s < sessions-1 {
			n = left / 2
		}
		left -= n
		if n > 3 && m.rng.IntN(6) == 0 {
			x.scrap = 1 + m.rng.IntN(2)
		}
		if n > 3 && m.rng.IntN(25) == 0 {
			x.review = 1
		}
		x.good = n - x.scrap - x.review
		*pieces -= x.scrap + x.review
		m.put(x, lot)
		m.dirty(len(m.rows) - 1)
		*at = x.end
		if s < sessions-1 && m.rng.IntN(8) > 0 {
			*at = at.Add(time.Duration(m.rng.IntN(16*3600)) * time.Second)
		} else if s < sessions-1 && x.end.Sub(x.start) > time.Hour {
			*at = x.end.Add(-time.Duration(600+m.rng.IntN(1200)) * time.Second) // someone else begins already
		}
	}
}

func makeUp(t *testing.T) *madeUp {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	m := &madeUp{rng: mrand.New(mrand.NewPCG(3, 4)), zone: zone, odd: map[string]int{}}
	begin := time.Date(2025, 8, 1, 5, 0, 0, 0, time.UTC)
	for n := range 290 {
		m.work(n, begin.Add(time.Duration(n)*9*time.Hour))
	}
	// The hour that comes twice: the file does not say which one it is.
	m.rows = slices.DeleteFunc(m.rows, func(r logRow) bool {
		d := time.Date(2025, 10, 26, 0, 0, 0, 0, time.UTC)
		return r.start.Before(d.Add(2*time.Hour)) && r.end.After(d) &&
			(r.start.After(d) || r.end.Before(d.Add(2*time.Hour)))
	})
	twice := logRow{batch: "Case 7", part: "Item 7", op: "Packing", machine: "Packing", person: "ID1",
		start: time.Date(2025, 10, 26, 0, 30, 0, 0, time.UTC),
		end:   time.Date(2025, 10, 26, 1, 10, 0, 0, time.UTC)}
	m.put(twice, 0)
	m.odd["came twice"] = 2 // its start and its end
	for _, r := range m.rows {
		if r.odd != "" {
			m.odd[r.odd]++
		}
		if r.setup && r.good > 0 && !r.left {
			m.odd["while setting up"]++
		}
	}
	m.rng.Shuffle(len(m.rows), func(i, j int) { m.rows[i], m.rows[j] = m.rows[j], m.rows[i] })
	return m
}

func (m *madeUp) file() []byte {
	var b bytes.Buffer
	fmt.Fprintln(&b, logHead)
	for i := range m.rows {
		fmt.Fprintln(&b, m.rows[i].text)
	}
	return b.Bytes()
}

const logMap = `# an invented shop
batch = "Order"
part = "Item"
pieces = "Lot size"
operation = "Step"
machine = "Workplace"
person = "Who"
kind = "Sort"
kind.setup = "S"
kind.run = "P"
start = "From"
end = "To"
good = "OK"
scrap = "NOK"
review = "Blocked"
zone = "Europe/Berlin"
decimal = ","
over_after_days = 21
`

// plain is what the rows say of a batch, added up row by row.
type plain struct {
	first, last   time.Time
	run, setup    time.Duration
	scrap, review int
	good          map[string]int
	scrapAt       map[string]int
	lastOp        string
	rows          int
}

// plainly adds up the rows, knowing nothing of visits, routes or scans.
func plainly(rows []logRow) map[string]*plain {
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b logRow) int { return a.start.Compare(b.start) })
	out := map[string]*plain{}
	for _, r := range rows {
		if r.left {
			continue
		}
		p := out[r.batch]
		if p == nil {
			p = &plain{first: r.start, last: r.end, good: map[string]int{}, scrapAt: map[string]int{}}
			out[r.batch] = p
		}
		if r.end.After(p.last) {
			p.last = r.end
		}
		if r.setup {
			p.setup += r.end.Sub(r.start)
		} else {
			p.run += r.end.Sub(r.start)
		}
		if _, seen := p.good[r.op]; !seen {
			p.lastOp = r.op
		}
		p.good[r.op] += r.good
		p.scrapAt[r.op] += r.scrap
		p.scrap += r.scrap
		p.review += r.review
		p.rows++
	}
	return out
}

func logHouse(t *testing.T) *house {
	t.Helper()
	return emptyHouse(t, time.Date(2026, 2, 1, 12, 0, 0, 0, time.UTC))
}

// emptyHouse opens a house without a shop at a moment; it is closed with the test.
func emptyHouse(t *testing.T, now time.Time) *house {
	t.Helper()
	hs, err := openHouse(t.TempDir(),
		host{ctx: t.Context(), now: func() time.Time { return now }, rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := hs.close(); err != nil {
			t.Error(err)
		}
	})
	return hs
}

func takeLog(t *testing.T, hs *house, file []byte, dry bool) string {
	t.Helper()
	var out strings.Builder
	req := request{Do: "import", Kind: "scans", File: "old.csv", MapName: "old.map", Mapping: logMap,
		DryRun: dry}
	if err := hs.doImport(t.Context(), req, bytes.NewReader(file), &out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// The figures of an imported log are those that its rows give when they are
// added up plainly, here, without the program.
func TestOldLogSaysWhatItsRowsSay(t *testing.T) {
	t.Parallel()
	m := makeUp(t)
	want := plainly(m.rows)
	hs := logHouse(t)
	file := m.file()
	dry := takeLog(t, hs, file, true)
	if seq, _ := hs.desk.Head(); seq != 0 {
		t.Fatalf("a dry run kept %d entries", seq)
	}
	report := takeLog(t, hs, file, false)
	t.Log(report)
	if strings.ReplaceAll(dry, "would be imported", "imported") != report {
		t.Errorf("the dry run said something else:\n%s", dry)
	}
	for what, n := range m.odd {
		line := regexp.MustCompile(`odd: (\d+) rows .*` + what).FindStringSubmatch(report)
		if line == nil || line[1] != strconv.Itoa(n) {
			t.Errorf("the report does not have %d rows that %q", n, what)
		}
	}
	got := map[string]story.BatchFact{}
	if err := hs.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		got[b.Order] = *b
		return true
	}); err != nil {
		t.Fatal(err)
	}
	if len(got) != len(want) {
		t.Errorf("%d batches, want %d", len(got), len(want))
	}
	for name, w := range want {
		b, ok := got[name]
		if !ok {
			t.Errorf("there is no batch %s", name)
			continue
		}
		names := map[traveler.Op]string{}
		route, _ := hs.desk.Shop().Route(b.Part, b.Rev)
		for i := range route.Operations {
			names[route.Operations[i].Number] = route.Operations[i].Instruction
		}
		compareLog(t, name, w, &b, names)
	}
	wip(t, want, got)
	again(t, hs, file)
}

// compareLog holds a batch against the sums of its rows.
func compareLog(t *testing.T, name string, w *plain, b *story.BatchFact, names map[traveler.Op]string) {
	t.Helper()
	var run, setup time.Duration
	for i := range b.Visits {
		run, setup = run+b.Visits[i].Parts.Run, setup+b.Visits[i].Parts.Setup
		if b.Visits[i].Parts.Stop != 0 {
			t.Errorf("%s: a stop, where nobody stopped", name)
		}
	}
	if len(b.Visits) != w.rows || run != w.run || setup != w.setup {
		t.Errorf("%s: %d visits with %v run and %v set-up; the rows give %d, %v and %v", name, len(b.Visits),
			run, setup, w.rows, w.run, w.setup)
	}
	if !b.Imported || b.Asked != 0 {
		t.Errorf("%s: imported %v, %d open questions", name, b.Imported, b.Asked)
	}
	if !b.Released.Equal(w.first) {
		t.Errorf("%s: released %v, first row %v", name, b.Released, w.first)
	}
	if b.State == story.StateDone && !b.Ended.Equal(w.last) {
		t.Errorf("%s: ended %v, last row %v", name, b.Ended, w.last)
	}
	if b.Good != w.good[w.lastOp] || b.Scrap != w.scrap {
		t.Errorf("%s: %d good and %d scrap; the rows give %d and %d", name, b.Good, b.Scrap, w.good[w.lastOp],
			w.scrap)
	}
	if sum := b.Parts.Sum(); b.State == story.StateDone && sum != w.last.Sub(w.first) {
		t.Errorf("%s: the parts of the lead time are %v, it is %v", name, sum, w.last.Sub(w.first))
	}
	for i := range b.Ops {
		o := &b.Ops[i]
		n := names[o.Operation]
		if o.Scrap != w.scrapAt[n] || o.Good-o.Assumed != w.good[n] {
			t.Errorf("%s %s: %d good and %d scrap; the rows give %d and %d", name, n, o.Good-o.Assumed,
				o.Scrap, w.good[n], w.scrapAt[n])
		}
	}
}

// wip compares the work in progress over a period with that of the rows.
func wip(t *testing.T, want map[string]*plain, got map[string]story.BatchFact) {
	t.Helper()
	from, to := time.Date(2025, 9, 1, 0, 0, 0, 0, time.UTC), time.Date(2025, 10, 1, 0, 0, 0, 0, time.UTC)
	flow := measure.Flow{From: from, To: to}
	var inside time.Duration
	for name, w := range want {
		b := got[name]
		flow.Add(&b)
		a, z := w.first, w.last
		if a.Before(from) {
			a = from
		}
		if z.After(to) {
			z = to
		}
		if z.After(a) {
			inside += z.Sub(a)
		}
	}
	plainWIP := inside.Hours() / to.Sub(from).Hours()
	if d := flow.WIP - plainWIP; d > 1e-9 || d < -1e-9 {
		t.Errorf("work in progress %v, the rows give %v", flow.WIP, plainWIP)
	}
}

// again imports the log once more: nothing comes of it.
func again(t *testing.T, hs *house, file []byte) {
	t.Helper()
	seq, _ := hs.desk.Head()
	report := takeLog(t, hs, file, false)
	if now, _ := hs.desk.Head(); now != seq {
		t.Errorf("the record grew from %d to %d:\n%s", seq, now, report)
	}
	if !strings.Contains(report, "0 machines, 0 routes, 0 batches and 0 scans imported") {
		t.Error(report)
	}
}
