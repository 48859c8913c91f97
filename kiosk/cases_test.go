package kiosk_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Cases are made by the server's own rules: walks of a batch through the shop, each
// scan with its answer and with what is offered afterwards. The page judges the
// same walks by itself (kiosk/page/_judge.test.js) and has to come to the same.
type cases struct {
	Machines []traveler.Machine `json:"machines"`
	Walks    []walk             `json:"walks"`
}

// walk is what happens to a batch from a moment on.
type walk struct {
	Known kiosk.Known `json:"known"` // at its beginning
	Said  []caseSaid  `json:"said"`
}

// caseSaid is a scan, its answer, and what some machines offer afterwards, by
// machine and role.
type caseSaid struct {
	Role    traveler.Role     `json:"role"`
	Scan    traveler.Scan     `json:"scan"`
	Refused string            `json:"refused,omitempty"` // the key and arguments of the sentence
	Offer   bool              `json:"offer,omitempty"`
	Views   map[string]string `json:"views"`
}

// The seed and the number of walks are chosen so that each action is said dozens
// of times, and each refusal that a device can judge several times;
// TestCasesCover counts them.
const (
	caseSeed  = 27
	caseWalks = 40
	walkScans = 12
)

func TestCasesForThePage(t *testing.T) {
	made, err := json.Marshal(makeCases(t))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer // a walk on a line
	b.Write(bytes.ReplaceAll(made, []byte(`{"known"`), []byte("\n{\"known\"")))
	b.WriteByte('\n')
	fresh(t, "testdata/cases.json", b.Bytes())
}

// The walks reach what a device has to judge.
func TestCasesCover(t *testing.T) {
	said, refused, scans := map[string]int{}, map[string]int{}, 0
	for _, w := range makeCases(t).Walks {
		for _, s := range w.Said {
			scans++
			said[string(s.Scan.Action)]++
			key, _, _ := strings.Cut(s.Refused, "|")
			refused[key]++
		}
	}
	if scans < 300 {
		t.Errorf("%d scans", scans)
	}
	for _, a := range []string{
		"arrive", "setup", "firstoff", "run", "stop", "count", "finish", "hold", "free", "move", "send",
		"receive", "decide", "deliver", "ready",
	} {
		if said[a] < 4 {
			t.Errorf("%s is said %d times: %v", a, said[a], said)
		}
	}
	for _, key := range []string{
		"batch.held", "machine.wrong", "order.wrong", "firstoff.open", "firstoff.rejected", "count.started",
		"count.over", "role",
		"ready.thing", "ready.begun",
	} {
		if refused[key] < 2 {
			t.Errorf("%s refuses %d times: %v", key, refused[key], refused)
		}
	}
}

// TestPageRules holds the page's table against the program's.
func TestPageRules(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("// The rules of a station, written by the tests of package kiosk (-update): see rules.go there.\n" +
		"/** @type {import(\"./_types.js\").Rules} */\n// prettier-ignore\nexport const RULES = {\n")
	line := func(indent string, key string, v any) {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "%s%q: %s,\n", indent, key, text)
	}
	section := func(name string, each func()) {
		fmt.Fprintf(&b, "  %q: {\n", name)
		each()
		b.WriteString("  },\n")
	}
	section("forms", func() {
		for _, name := range slices.Sorted(maps.Keys(kiosk.Rules.Forms)) {
			line("    ", name, kiosk.Rules.Forms[name])
		}
	})
	section("lists", func() {
		for _, name := range slices.Sorted(maps.Keys(kiosk.Rules.Lists)) {
			fmt.Fprintf(&b, "    %q: [\n", name)
			for _, l := range kiosk.Rules.Lists[name] {
				text, err := json.Marshal(l)
				if err != nil {
					t.Fatal(err)
				}
				fmt.Fprintf(&b, "      %s,\n", text)
			}
			b.WriteString("    ],\n")
		}
	})
	line("  ", "may", kiosk.Rules.May)
	b.WriteString("  \"moves\": [\n")
	for _, m := range kiosk.Rules.Moves {
		text, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "    %s,\n", text)
	}
	b.WriteString("  ],\n")
	line("  ", "limits", kiosk.Rules.Limits)
	line("  ", "askable", kiosk.Rules.Askable)
	b.WriteString("};\n")
	fresh(t, "page/rules.js", wrapped(b.String()))
}

// wrapped breaks lines that are wider than the project's modules are; no text of the
// table has a comma in it.
func wrapped(text string) []byte {
	const widest, more = 110, "        "
	var out []string
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		for len(line) > widest {
			cut := strings.LastIndexByte(line[:widest], ',') + 1
			out, line = append(out, line[:cut]), more+line[cut:]
		}
		out = append(out, line)
	}
	return []byte(strings.Join(out, "\n") + "\n")
}

// fresh holds a file that is made from the rules against them.
func fresh(t *testing.T, file string, want []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(file, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil || !bytes.Equal(got, want) {
		t.Errorf("%s is not what the rules say (%v); run go test ./kiosk -update, and read what changed",
			file, err)
	}
}

func makeCases(t *testing.T) cases {
	t.Helper()
	r := rand.New(rand.NewPCG(caseSeed, 0))
	out := cases{Machines: newFloor(t).shop.Machines(morning)}
	for i := range caseWalks {
		wk := &walker{floor: newFloor(t), r: r}
		if i%8 == 7 {
			wk.supersede()
		}
		if i%4 == 2 {
			wk.needs()
		}
		wk.begin(i)
		w := walk{Known: wk.known()}
		for range walkScans {
			w.Said = append(w.Said, wk.step())
		}
		out.Walks = append(out.Walks, w)
	}
	return out
}

// walker takes one batch through the shop by what stations offer, and now and
// then by what they don't.
type walker struct {
	*floor
	r     *rand.Rand
	again *traveler.Scan // what was refused, and may be said again
	role  traveler.Role  // of who said it
	lists bool           // the shop has a list of what must be there
}

// needs gives the shop a list of what must be there before an operation can begin.
func (w *walker) needs() {
	w.lists = true
	w.shop = w.shop.With(&traveler.Change{From: morning, Reasons: []traveler.Reason{
		{Kind: traveler.ReasonReady, Code: "fixture", Text: "Fixture",
			WorkCentres: []traveler.WorkCentre{"MILL"}},
		{Kind: traveler.ReasonReady, Code: "tools", Text: "Tools"},
	}})
}

// begin takes a walk to where it is known from: every other one to its middle, and
// some to what seldom comes by chance.
func (w *walker) begin(i int) {
	rejected := []string{"L1 setup", "L1 firstoff", "L1 firstoff scrap=1"}
	switch {
	case i%8 == 3:
		w.say(rejected...)
		w.again, w.role = &traveler.Scan{Station: "L1", Action: traveler.ActRun}, traveler.RoleOperator
	case i%8 == 5:
		w.say("L1 run", "L1 finish good=45 rework=2 review=3")
	case i%8 == 1:
		w.say("L1 finish good=50", "M1 finish good=50", "M1 send op=30", "M1 receive op=30", "L2 run",
			"L2 finish good=50")
	default:
		for range (i % 2) * walkScans {
			w.step()
		}
	}
}

func (w *walker) known() kiosk.Known { return kiosk.Know(w.shop, w.f, 0, w.now) }

// pick chooses one of a list.
func pick[T any](w *walker, list ...T) T { return list[w.r.IntN(len(list))] }

var caseMachines = []traveler.MachineID{"L1", "L2", "M1", "Q1", "S1", "D1"}

// step says one thing.
func (w *walker) step() caseSaid {
	role, s := w.next()
	w.seq++
	w.now = w.now.Add(time.Duration(3+w.r.IntN(20)) * time.Minute)
	s.ID, s.At, s.Card = traveler.ScanID(fmt.Sprintf("s%d", w.seq)), w.now, string(w.f.Batches[0].Card)
	e := &traveler.Entry{
		Seq: w.seq, Arrived: w.now, By: traveler.Actor{Name: "s", Role: role}, Scan: &s,
		Card:    w.f.Batches[0].Card,
		Machine: traveler.MachineID(s.Station),
	}
	f, m := w.f.Add(w.shop, e)
	out := caseSaid{Role: role, Scan: s, Views: map[string]string{}}
	w.again = nil
	if e.Outcome == traveler.Refused {
		out.Refused = strings.Join(append([]string{e.Say.Key}, e.Say.Args...), "|")
		if out.Offer = m; m && w.r.IntN(2) == 0 {
			w.again, w.role = &s, role
		}
	} else {
		w.f = f
	}
	for _, id := range []traveler.MachineID{e.Machine, pick(w, caseMachines...)} {
		r := pick(w, traveler.RoleOperator, traveler.RoleOperator, traveler.RoleInspector,
			traveler.RoleSupervisor)
		comes := w.r.IntN(3) == 0
		as := string(id) + " " + string(r)
		if comes {
			as += " comes"
		}
		out.Views[as] = viewLine(kiosk.Look(w.shop, w.f, 0, id, r, comes, w.now))
	}
	return out
}

// next is what is said next, and by whom.
func (w *walker) next() (traveler.Role, traveler.Scan) {
	if w.again != nil {
		s := *w.again
		s.Anyway, s.Reason = true, cmp.Or(s.Reason, "told")
		return w.role, s
	}
	role := pick(w, traveler.RoleOperator, traveler.RoleOperator, traveler.RoleOperator,
		traveler.RoleInspector, traveler.RoleSupervisor)
	machine := w.place()
	if w.lists && w.r.IntN(4) == 0 {
		s := traveler.Scan{Station: string(machine), Action: traveler.ActReady,
			Operation: pick[traveler.Op](w, 0, 10, 20, 40, 50)}
		w.tick(&s)
		return role, s
	}
	if w.r.IntN(6) == 0 {
		return role, w.bare(machine)
	}
	steps := slices.DeleteFunc(kiosk.Look(w.shop, w.f, 0, machine, role, false, w.now).Steps,
		func(x kiosk.Step) bool {
			// What splits and joins is the server's to say: it gives the cards.
			return x.Action == traveler.ActSplit || x.Action == traveler.ActJoin
		})
	if len(steps) == 0 {
		return role, w.bare(machine)
	}
	x := pick(w, steps...)
	if steps[0].Likely && w.r.IntN(10) < 6 {
		x = steps[0]
	}
	return role, w.said(machine, x)
}

// place is a machine, more often one where something is to be done.
func (w *walker) place() traveler.MachineID {
	if w.r.IntN(4) == 0 {
		return pick(w, caseMachines...)
	}
	for i := range w.f.Visits {
		if v := &w.f.Visits[i]; v.Open() && w.r.IntN(3) > 0 {
			return v.Machine
		}
	}
	switch w.f.NextOp(0) {
	case 10, 40:
		return pick[traveler.MachineID](w, "L1", "L2")
	case 0:
		return "D1"
	}
	return "M1"
}

// bare is a scan as the code of an action sheet makes it of a card nothing is
// known of.
func (w *walker) bare(machine traveler.MachineID) traveler.Scan {
	s := traveler.Scan{Station: string(machine),
		Action: pick(w, traveler.ActSetup, traveler.ActRun, traveler.ActRun, traveler.ActRun,
			traveler.ActCount, traveler.ActFinish, traveler.ActHold, traveler.ActFirstOff)}
	if s.Action == traveler.ActCount || (s.Action == traveler.ActFirstOff && w.r.IntN(2) == 0) {
		n := 1 + w.r.IntN(3)
		s.Good = &n
	}
	return s
}

// said is a step with what it asks for.
func (w *walker) said(machine traveler.MachineID, x kiosk.Step) traveler.Scan {
	s := traveler.Scan{
		Station: string(machine), Action: x.Action, Operation: x.Operation, Visit: x.Visit, Phase: x.Phase,
		For:    x.For,
		Reason: x.Reason, To: string(x.To),
	}
	one := 1
	switch x.Needs {
	case kiosk.NeedStop, kiosk.NeedWait, kiosk.NeedHold:
		s.Reason = "tool"
	case kiosk.NeedPlace:
		s.To = string(pick(w, caseMachines...))
	case kiosk.NeedPieces:
		s.Pieces = 1 + w.r.IntN(max(1, x.Pieces))
	case kiosk.NeedVerdict:
		s.Good = &one
		if w.r.IntN(2) == 0 {
			s.Good, s.Scrap = nil, []traveler.Loss{{Reason: "size", N: 1}}
		}
	case kiosk.NeedCounts:
		w.count(machine, x, &s)
	case kiosk.NeedReady:
		w.tick(&s)
	}
	return s
}

// tick says something of what an operation needs, on the list or not.
func (w *walker) tick(s *traveler.Scan) {
	s.For, s.Reason = pick(w, "fixture", "tools", ""),
		pick(w, story.ReadyThere, story.ReadyMissing, story.ReadyOpen)
}

// count fills in pieces: some, all that are left, or too many.
func (w *walker) count(machine traveler.MachineID, x kiosk.Step, s *traveler.Scan) {
	n := cmp.Or(x.Pieces, kiosk.Look(w.shop, w.f, 0, machine, traveler.RoleOperator, false, w.now).Left)
	switch w.r.IntN(8) {
	case 0:
		n += 1 + w.r.IntN(3)
	case 1, 2, 3:
	default:
		n = w.r.IntN(n + 1)
	}
	if x.Reason == "concession" {
		s.Note, s.Good = "C-1", &n
		return
	}
	lost := []traveler.Loss{{Reason: "size", N: 1}}
	kind := w.r.IntN(9)
	switch {
	case n < 2:
	case kind == 0:
		s.Scrap, n = lost, n-1
	case kind == 1:
		s.Rework, n = lost, n-1
	case kind == 2 && x.Action != traveler.ActDecide:
		s.Review, n = lost, n-1
	case kind == 3:
		one := 1
		s.Missing, n = &one, n-1
	case kind == 4 && (x.Action == traveler.ActCount || x.Action == traveler.ActFinish):
		s.Reads = &n
		return
	}
	s.Good = &n
}

// viewLine is what matters of a view, in a line: both sides write it so.
func viewLine(s kiosk.Station) string {
	var b strings.Builder
	fmt.Fprintf(&b, "op %d visit %s %s left %d of %d good %d scrap %d rework %d review %d missing %d first %v %s by %s short %d waiting %d %d blocked %s wait %s:",
		s.Operation, s.Visit, s.VisitState, s.Left, s.Of, s.Good, s.Scrap, s.Rework, s.Review, s.Missing,
		s.FirstOff.Wanted,
		s.FirstOff.State, s.FirstOff.By, s.Short, s.ReworkWaiting, s.ReviewWaiting, s.Blocked, s.WaitReason)
	for _, x := range s.Steps {
		fmt.Fprintf(&b, " %s(%s)%s#%s", x.Key, strings.Join(x.Args, ","), opText(x.Operation), x.Visit)
		for _, more := range []string{x.Phase, x.For, x.Reason, string(x.To), string(x.WorkCentre),
			string(x.Needs)} {
			if more != "" {
				b.WriteString("/" + more)
			}
		}
		if x.Pieces != 0 {
			fmt.Fprintf(&b, "=%d", x.Pieces)
		}
		if x.Likely {
			b.WriteString("!")
		}
	}
	for _, x := range s.Things {
		fmt.Fprintf(&b, " %s=%s", x.Thing, x.State)
	}
	for _, n := range s.Others {
		fmt.Fprintf(&b, " ?%s(%s)", n.Key, strings.Join(n.Args, ","))
	}
	return b.String()
}

func opText(op traveler.Op) string {
	if op == 0 {
		return ""
	}
	return op.String()
}

// The sentences that the page says by itself are those that it is given.
func TestPageRefusals(t *testing.T) {
	found := map[string]bool{}
	for _, file := range []string{"page/fits.js", "page/judge.js"} {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?:no\(|=> \[)"([a-z]+(?:\.[a-z]+)?)"`).FindAllSubmatch(b, -1) {
			found[string(m[1])] = true
		}
	}
	if got := slices.Sorted(maps.Keys(found)); !slices.Equal(got, kiosk.Refusals) {
		t.Errorf("the page says\n%q, it is given\n%q", got, kiosk.Refusals)
	}
	for _, key := range kiosk.Refusals {
		if (traveler.Msg{Key: key}).Text("en") == key {
			t.Errorf("%s has no sentence", key)
		}
	}
}
