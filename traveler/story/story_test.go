package story_test

import (
	"bufio"
	"crypto/sha256"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/tools/txtar"

	. "tallywalk/traveler"
	"tallywalk/traveler/calendar"
	. "tallywalk/traveler/story"
)

var update = flag.Bool("update", false, "write the goldens again")

// day is the day on which the stories play.
var day = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

// TestStories plays each story of testdata/stories: the scans in the order they
// arrive, then what the story says. The muddles are common practice of a shop
// floor, no source; what each says is derived from the rules of the floor.
func TestStories(t *testing.T) {
	files, err := filepath.Glob("../../testdata/stories/*.txtar")
	if err != nil || len(files) < 32 {
		t.Fatalf("want the example and 25 muddles in testdata/stories, have %d (%v)", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) { playFile(t, file) })
	}
}

func playFile(t *testing.T, file string) {
	ar, err := txtar.ParseFile(file)
	if err != nil {
		t.Fatal(err)
	}
	p := newPlay(t)
	changed := false
	for i := range ar.Files {
		f := &ar.Files[i]
		body := string(f.Data)
		switch f.Name {
		case "shop":
			p.setShop(body)
		case "scans":
			p.scans(body)
		case "answers":
			changed = golden(t, file, f, p.takeAnswers()) || changed
		case "story":
			changed = golden(t, file, f, p.dump()) || changed
		default:
			t.Fatalf("%s: no such part %q", file, f.Name)
		}
	}
	p.invariants()
	if changed {
		if err := os.WriteFile(file, txtar.Format(ar), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func golden(t *testing.T, file string, f *txtar.File, got string) bool {
	t.Helper()
	if string(f.Data) == got {
		return false
	}
	if *update {
		f.Data = []byte(got)
		return true
	}
	t.Errorf("%s, %s:\nwant\n%s\ngot\n%s", file, f.Name, f.Data, got)
	return false
}

// play is a shop with its record, as the story tests write it.
type play struct {
	t        *testing.T
	shop     *Shop
	families map[string]*Family // by the name of the root's card in the test
	cards    map[string]Code
	names    map[Code]string
	seq      Seq
	ids      map[string]ScanID
	scansBy  map[ScanID]*Entry
	counter  map[DeviceID]uint64
	answers  strings.Builder
	routes   map[string]Route
}

func newPlay(t *testing.T) *play {
	return &play{
		t: t, shop: &Shop{}, families: map[string]*Family{}, cards: map[string]Code{},
		names: map[Code]string{},
		ids:   map[string]ScanID{}, scansBy: map[ScanID]*Entry{}, counter: map[DeviceID]uint64{},
		routes: map[string]Route{},
	}
}

// clock reads 10:02, or +1 10:02 for a day later.
func clock(t *testing.T, s string) time.Time {
	t.Helper()
	d := day
	if rest, ok := strings.CutPrefix(s, "+"); ok {
		n, r, _ := strings.Cut(rest, "/")
		k, err := strconv.Atoi(n)
		if err != nil {
			t.Fatalf("bad day in %q", s)
		}
		d, s = d.AddDate(0, 0, k), r
	}
	c, err := time.Parse("15:04", s)
	if err != nil {
		if c, err = time.Parse("15:04:05", s); err != nil {
			t.Fatal(err)
		}
	}
	return d.Add(time.Duration(c.Hour())*time.Hour + time.Duration(c.Minute())*time.Minute +
		time.Duration(c.Second())*time.Second)
}

// setShop reads lines such as
//
//	machine L1 LATHE 0 0
//	calendar day shift mon-fri 06:00-22:00
//	thing fixture MILL (what must be there; the work centres that need it)
//	op SHAFT A 10 LATHE setup=30 cycle=2 firstoff
//	drawing SHAFT A 1 (route's drawing)
//	batch B1 SHAFT A 50 released=07:00
func (p *play) setShop(body string) {
	c := &Change{From: day}
	for _, line := range lines(body) {
		w := strings.Fields(line)
		if w[0] == "from" {
			c.From = clock(p.t, w[1])
		}
		switch w[0] {
		case "machine":
			n := uint64(1000 + len(p.cards) + len(c.Machines)*37)
			code, ok := NewCode(KindMachine, n)
			for !ok {
				n++
				code, ok = NewCode(KindMachine, n)
			}
			x, _ := strconv.ParseFloat(w[3], 64)
			y, _ := strconv.ParseFloat(w[4], 64)
			m := Machine{ID: MachineID(w[1]), Code: code, Name: w[1], WorkCentre: WorkCentre(w[2]), X: x,
				Y: y}
			for _, x := range w[5:] {
				if name, ok := strings.CutPrefix(x, "calendar="); ok {
					m.Calendar = name
				}
				m.Unattended = m.Unattended || x == "unattended"
			}
			c.Machines = append(c.Machines, m)
		case "calendar":
			p.addTurn(c, w)
		case "op":
			p.addOp(w)
		case "thing":
			c.Reasons = append(c.Reasons, thingOf(w))
		}
	}
	for _, r := range p.routes {
		c.Routes = append(c.Routes, r)
	}
	slices.SortFunc(c.Routes, func(a, b Route) int { return strings.Compare(a.Rev, b.Rev) })
	p.shop = p.shop.With(c)
	p.routes = map[string]Route{}
	for _, line := range lines(body) {
		if w := strings.Fields(line); w[0] == "batch" {
			p.release(w)
		}
	}
	for name, f := range p.families {
		p.families[name] = Fold(p.shop, f.Record())
	}
}

// thingOf reads a line such as "thing fixture MILL LATHE".
func thingOf(w []string) Reason {
	r := Reason{Kind: ReasonReady, Code: w[1], Text: w[1]}
	for _, wc := range w[2:] {
		r.WorkCentres = append(r.WorkCentres, WorkCentre(wc))
	}
	return r
}

// addTurn reads a line such as "calendar day shift mon-fri 06:00-22:00".
func (p *play) addTurn(c *Change, w []string) {
	from, to, _ := strings.Cut(w[4], "-")
	turn := calendar.Turn{Kind: calendar.Kind(w[2]), Days: w[3], From: from, To: to}
	i := slices.IndexFunc(c.Calendars, func(k calendar.Calendar) bool { return k.Name == w[1] })
	if i < 0 {
		i = len(c.Calendars)
		c.Calendars = append(c.Calendars, calendar.Calendar{Name: w[1], Zone: "UTC"})
	}
	c.Calendars[i].Turns = append(c.Calendars[i].Turns, turn)
	if _, err := calendar.New(c.Calendars[i]); err != nil && turn.Kind != calendar.Break {
		p.t.Fatal(err)
	}
}

func (p *play) addOp(w []string) {
	key := w[1] + "/" + w[2]
	r := p.routes[key]
	r.Part, r.Rev = w[1], w[2]
	n, _ := strconv.Atoi(w[3])
	o := Operation{Number: Op(n), WorkCentre: WorkCentre(w[4]), SetupMin: 30, CycleMin: 2, PiecesPerCycle: 1,
		Clampings: 1}
	for _, x := range w[5:] {
		k, v, _ := strings.Cut(x, "=")
		switch k {
		case "firstoff":
			o.FirstOff = true
		case "outside":
			o.OutsideDays, _ = strconv.ParseFloat(v, 64)
		case "drawing":
			r.DrawingRev = v
		default:
			p.t.Fatalf("op: %q", x)
		}
	}
	r.Operations = append(r.Operations, o)
	p.routes[key] = r
}

func (p *play) newCard(name string) Code {
	n := uint64(len(p.cards)+1) * 7919
	for {
		if c, ok := NewCode(KindBatch, n); ok {
			p.cards[name], p.names[c] = c, name
			return c
		}
		n++
	}
}

func (p *play) release(w []string) {
	pieces, _ := strconv.Atoi(w[4])
	r := &Release{ID: p.id(w[1]), Part: w[2], RouteRev: w[3], Pieces: pieces, WorksOrder: "WO-" + w[1],
		MaterialLots: []string{"LOT-" + w[1]}}
	arrived, rules := clock(p.t, "06:00"), Rules
	for _, x := range w[5:] {
		k, v, _ := strings.Cut(x, "=")
		if k == "released" {
			r.Released = clock(p.t, v)
		}
		if k == "arrived" {
			arrived = clock(p.t, v)
		}
		if k == "rules" {
			rules, _ = strconv.Atoi(v)
		}
	}
	p.seq++
	p.families[w[1]] = Fold(p.shop,
		[]*Entry{{Seq: p.seq, Arrived: arrived, Rules: rules, Release: r, Card: p.newCard(w[1])}})
}

// id makes the id of the scan with a name, the same in every run.
func (p *play) id(name string) ScanID {
	if id, ok := p.ids[name]; ok {
		return id
	}
	h := sha256.Sum256([]byte(name))
	id := ScanID(fmt.Sprintf("%x-%x-7%03x-9%03x-%x", h[0:4], h[4:6], int(h[6])<<4&0xfff, int(h[7])<<4&0xfff,
		h[8:14]))
	p.ids[name] = id
	return id
}

func lines(body string) []string {
	var out []string
	sc := bufio.NewScanner(strings.NewReader(body))
	for sc.Scan() {
		l, _, _ := strings.Cut(sc.Text(), "#")
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// scans reads lines such as
//
//	10:02 L1 B1 finish good=48 scrap=2:size by=P1 arrives=14:00 n=3 id=s1
func (p *play) scans(body string) {
	for _, line := range lines(body) {
		p.say(line)
	}
}

func (p *play) say(line string) {
	w := strings.Fields(line)
	if len(w) < 4 {
		p.t.Fatalf("scan line %q", line)
	}
	s := &Scan{ID: p.id("scan " + line), At: clock(p.t, w[0]), Station: w[1], Action: Action(w[3]),
		Operator: "P1"}
	w[2], s.Card = p.card(w[2])
	by := Actor{Name: w[1], Role: RoleOperator}
	arrived := s.At
	name := ""
	for _, x := range w[4:] {
		k, v, _ := strings.Cut(x, "=")
		switch k {
		case "role":
			by.Role = Role(v)
		case "arrives":
			arrived = clock(p.t, v)
			f := false
			s.Present = &f
		case "late":
			f := false
			s.Present = &f
		case "id":
			name = v
			s.ID = p.id(v)
		default:
			p.field(s, k, v)
		}
	}
	if by.Role != RoleOperator {
		by.Name = string(by.Role)
	}
	p.put(s, by, arrived, w, name)
}

// card finds what was scanned or, after WO-, typed: the batch's name in the
// test and what the scan says.
func (p *play) card(said string) (name, card string) {
	if name, typed := strings.CutPrefix(said, "WO-"); typed {
		return name, said
	}
	return said, string(p.cards[said])
}

func (p *play) field(s *Scan, k, v string) {
	n, _ := strconv.Atoi(v)
	losses := func() []Loss {
		num, rest, _ := strings.Cut(v, ":")
		reason, caused, _ := strings.Cut(rest, "@")
		k, _ := strconv.Atoi(num)
		at, _ := strconv.Atoi(caused)
		return []Loss{{Reason: reason, N: k, CausedAt: Op(at)}}
	}
	switch k {
	case "good":
		s.Good = &n
	case "missing":
		s.Missing = &n
	case "reads":
		s.Reads = &n
	case "scrap":
		s.Scrap = losses()
	case "rework":
		s.Rework = losses()
	case "review":
		s.Review = losses()
	case "measured":
		m := strings.Split(v, ":")
		var x [4]float64
		for i := range x {
			x[i], _ = strconv.ParseFloat(m[i+1], 64)
		}
		s.Measured = append(s.Measured,
			Measured{Dimension: m[0], Nominal: x[0], Lower: x[1], Upper: x[2], Found: x[3]})
	case "pieces":
		s.Pieces = n
	case "op":
		s.Operation = Op(n)
	case "by":
		s.Operator = PersonID(v)
	case "to":
		s.To = v
	case "for":
		s.For = v
		if id, ok := p.ids[v]; ok {
			s.For = string(id)
		}
		if kind, id, ok := strings.Cut(v, ":"); ok && p.ids[id] != "" {
			s.For = kind + ":" + string(p.ids[id])
		}
		for name, code := range p.cards {
			s.For = strings.ReplaceAll(s.For, "<"+name+">", string(code))
		}
		for name, id := range p.ids {
			s.For = strings.ReplaceAll(s.For, "{"+name+"}", string(id))
		}
	case "reason":
		s.Reason = strings.ReplaceAll(v, "+", " ")
	case "note":
		s.Note = v
	case "phase":
		s.Phase = v
	case "anyway":
		s.Anyway = true
	case "clock":
		t, err := time.Parse(time.DateOnly, v)
		if err != nil {
			p.t.Fatal(err)
		}
		s.At = t
	case "happened":
		t := clock(p.t, v)
		s.Happened = &t
	case "n":
		s.N, s.Device = uint64(n), "D1"
	case "device":
		s.Device = DeviceID(v)
	case "offset":
		d, _ := time.ParseDuration(v)
		s.OffsetMS = d.Milliseconds()
	case "within":
		d, _ := time.ParseDuration(v)
		s.WithinMS = d.Milliseconds()
	default:
		p.t.Fatalf("scan field %q", k)
	}
}

// root finds the family that a card belongs to.
func (p *play) root(card Code) string {
	for name, f := range p.families {
		if f.Index(card) >= 0 {
			return name
		}
		for _, e := range f.Record() {
			if e.Other == card && e.Scan != nil && e.Scan.Action == ActSplit {
				return name
			}
		}
	}
	return ""
}

func (p *play) put(s *Scan, by Actor, arrived time.Time, w []string, name string) {
	if err := s.WellFormed(); err != nil {
		p.t.Fatalf("%v: %v", w, err)
	}
	p.seq++
	e := &Entry{Seq: p.seq, Arrived: arrived, By: by, Scan: s, Card: p.cards[w[2]]}
	e.Machine, _ = p.shop.FindMachine(s.Station)
	if s.Action == ActSplit {
		child := s.To
		s.To = ""
		e.Other = p.newCard(child)
	}
	if s.Action == ActJoin {
		e.Other = p.cards[s.For]
		s.For = string(e.Other)
	}
	root := p.root(e.Card)
	if root == "" {
		p.t.Fatalf("%v: no batch %s", w, w[2])
	}
	target := p.scansBy[ScanID(s.For)]
	across := s.Action == ActCorrect && target != nil && p.root(target.Card) != root
	if across {
		p.families[root] = p.families[root].Adopt(p.shop, target)
	}
	f, offer := p.families[root].Add(p.shop, e)
	p.families[root] = f
	if across && e.Outcome != Refused {
		from := p.root(target.Card)
		p.families[from] = Fold(p.shop, append(slices.Clone(p.families[from].Record()), e))
	}
	p.scansBy[s.ID] = e
	fmt.Fprintf(&p.answers, "%s %s %s %s: %s", w[0], w[1], w[2], w[3], e.Outcome)
	if e.Say.Key != "" {
		fmt.Fprintf(&p.answers, ": %s", p.readable(e.Say.Text("en")))
	}
	if offer {
		p.answers.WriteString(" [anyway?]")
	}
	p.answers.WriteString("\n")
}

func (p *play) takeAnswers() string {
	s := p.answers.String()
	p.answers.Reset()
	return s
}
