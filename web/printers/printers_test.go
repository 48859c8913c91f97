package printers_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
	"tallywalk/web/webtest"
)

// link is a printer that the test holds in its hand.
type link struct {
	mu       sync.Mutex
	is       paper.Printer
	off      bool
	sent     []string // names of documents that went out whole
	send     error    // what the next Send says after the document went out; nil = well
	keep     bool     // the printer keeps documents that went out, though it says nothing
	progress paper.Progress
	forgets  bool
	taken    []int // jobs that were taken back
	cut      int   // how much of a name the printer keeps, in octets; 0 = all
}

var errOff = errors.New("connection refused")

func newLink() *link {
	return &link{
		is: paper.Printer{
			Model: "Example", Formats: []string{"application/pdf"}, Accepts: true, Up: 100_000,
			Media: []paper.Media{{Name: "iso_a5_148x210mm", Wide: 148, High: 210}},
		},
		progress: paper.Progress{Stage: paper.StageDone},
	}
}

func (l *link) set(how func(*link)) {
	l.mu.Lock()
	defer l.mu.Unlock()
	how(l)
}

func (l *link) Ask(context.Context, paper.Address) (*paper.Printer, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.off {
		return nil, errOff
	}
	is := l.is
	return &is, nil
}

func (l *link) Send(_ context.Context, _ paper.Address, d *paper.Document, _ func(int) error) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.off {
		return 0, &paper.Unsent{Err: errOff}
	}
	if r := (*paper.Refusal)(nil); errors.As(l.send, &r) {
		return 0, l.send
	}
	if l.send == nil || l.keep {
		name := d.Name
		if l.cut > 0 {
			name = name[:min(l.cut, len(name))]
		}
		l.sent = append(l.sent, name)
	}
	err := l.send
	l.send = nil
	return len(l.sent), err
}

func (l *link) Find(_ context.Context, _ paper.Address, name string) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.off {
		return 0, errOff
	}
	return slices.IndexFunc(l.sent, func(at string) bool { return paper.IsJob(name, at) }) + 1, nil
}

func (l *link) Look(_ context.Context, _ paper.Address, job int, name string) (paper.Progress, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.off:
		return paper.Progress{}, errOff
	case l.forgets || job > len(l.sent) || !paper.IsJob(name, l.sent[job-1]):
		return paper.Progress{Stage: paper.StageUnsure}, nil
	case slices.Contains(l.taken, job):
		return paper.Progress{Stage: paper.StageCancelled}, nil
	}
	return l.progress, nil
}

func (l *link) Cancel(_ context.Context, _ paper.Address, job int) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.off {
		return errOff
	}
	l.taken = append(l.taken, job)
	return nil
}

type printed struct {
	ID, Stage, Title, Message string
	Printer                   string
	Troubles                  []string
	Tries                     int
}

// shop is a server with one printer.
type shop struct {
	*webtest.Rig
	l      *link
	tables *tables
	id     string
}

// tables are those of the server, where that of the printers cannot be read for a while.
type tables struct {
	story.Tables
	mu     sync.Mutex
	broken chan struct{} // hears of each look that failed; nil = none fails
}

func (f *tables) set(broken chan struct{}) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.broken = broken
}

func (f *tables) Get(table, key string) ([]byte, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if table != "printers" || f.broken == nil {
		return f.Tables.Get(table, key)
	}
	select {
	case f.broken <- struct{}{}:
	default:
	}
	return nil, errors.New("the disk does not answer")
}

func newShop(t *testing.T) shop {
	t.Helper()
	l, f := newLink(), &tables{}
	over := func(t story.Tables) story.Tables {
		f.Tables = t
		return f
	}
	r := webtest.New(t, webtest.Options{Printers: l, Tables: over}).As(traveler.RoleAdministrator)
	var made struct{ ID, Address string }
	body := map[string]any{"name": "Office", "address": "ipp://127.0.0.1:9/ipp/print"}
	if got := r.Do("POST", "/api/v1/printers", body, &made); got != http.StatusCreated || made.Address == "" {
		t.Fatalf("adding a printer: %d %+v", got, made)
	}
	return shop{r, l, f, made.ID}
}

func (s shop) print(cards ...string) string {
	s.T.Helper()
	id := webtest.NewID()
	body := map[string]any{"id": id, "printer": s.id, "kind": "card", "cards": cards, "size": "A5"}
	if got := s.Do("POST", "/api/v1/prints", body, nil); got != http.StatusAccepted {
		s.T.Fatalf("printing: %d", got)
	}
	return id
}

func (s shop) all() []printed {
	s.T.Helper()
	var v struct{ Prints []printed }
	if got := s.Do("GET", "/api/v1/prints", nil, &v); got != http.StatusOK {
		s.T.Fatalf("prints: %d", got)
	}
	return v.Prints
}

// until waits for a document to be as wanted.
func (s shop) until(id, stage string, troubles ...string) printed {
	s.T.Helper()
	deadline := time.Now().Add(time.Minute)
	every := time.NewTicker(10 * time.Millisecond)
	defer every.Stop()
	for {
		for _, p := range s.all() {
			if p.ID == id && p.Stage == stage && slices.Equal(p.Troubles, append([]string{}, troubles...)) {
				return p
			}
		}
		if time.Now().After(deadline) {
			s.T.Fatalf("%s is never %s with %v: %+v", id, stage, troubles, s.all())
		}
		<-every.C
	}
}

func (s shop) names() []string {
	s.l.mu.Lock()
	defer s.l.mu.Unlock()
	return slices.Clone(s.l.sent)
}

// A document that is asked for twice under one id is printed once; cards go in one
// document, whose name says whose they are.
func TestPrintedOnce(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	id := s.print("W-501", "W-502")
	s.until(id, "done")
	again := map[string]any{"id": id, "printer": s.id, "kind": "card", "cards": []string{"W-501"},
		"size": "A5"}
	if got := s.Do("POST", "/api/v1/prints", again, nil); got != http.StatusAccepted {
		t.Fatalf("again: %d", got)
	}
	s.until(s.print("W-503"), "done")
	if n := s.names(); len(n) != 2 || !strings.HasSuffix(n[0], " W-501, W-502") ||
		!strings.HasSuffix(n[1], " W-503") {
		t.Errorf("sent: %q", n)
	}
}

// The answer to a document that went out whole was lost. A printer that has it is
// followed; one that has not got it, and ran all the time, gets it again; where it was
// switched off meanwhile, nobody knows, and someone looks.
func TestLostAnswer(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.l.set(func(l *link) { l.send, l.keep = &paper.Lost{Err: errOff}, true })
	s.until(s.print("W-501"), "done")
	if n := s.names(); len(n) != 1 {
		t.Errorf("the printer had it, and it was sent again: %q", n)
	}
	s.l.set(func(l *link) { l.send, l.keep = &paper.Lost{Err: errOff}, false })
	if p := s.until(s.print("W-502"), "done"); p.Tries != 2 {
		t.Errorf("the printer never had it: %+v", p)
	}
	s.l.set(func(l *link) { l.send, l.keep, l.is.Up = &paper.Lost{Err: errOff}, false, 0 })
	id := s.print("W-503")
	s.until(id, "unsure")
	if n := s.names(); len(n) != 2 {
		t.Errorf("nobody knows, and it was sent again: %q", n)
	}
	if got := s.Do("POST", "/api/v1/prints/"+id, map[string]any{"do": "there"}, nil); got != http.StatusOK {
		t.Fatalf("it is there: %d", got)
	}
	s.until(id, "done")
}

// A printer that keeps only the beginning of a name is found to have a document all the
// same.
func TestLostAnswerOfACutName(t *testing.T) {
	t.Parallel()
	for _, cut := range []int{32, 40, 63} {
		s := newShop(t)
		s.l.set(func(l *link) { l.cut, l.send, l.keep = cut, &paper.Lost{Err: errOff}, true })
		s.until(s.print("W-501", "W-502", "W-503"), "done")
		if n := s.names(); len(n) != 1 {
			t.Errorf("the printer had it, cut to %d, and it was sent again: %q", cut, n)
		}
	}
}

// While the printers cannot be read, a document waits: only where its printer was removed
// is it cancelled.
func TestTablesDoNotAnswer(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.l.set(func(l *link) { l.off = true })
	id := s.print("W-501")
	s.until(id, "waiting", "off")
	broken := make(chan struct{}, 1)
	s.tables.set(broken)
	<-broken
	s.tables.set(nil)
	s.l.set(func(l *link) { l.off = false })
	s.until(id, "done")
}

// No more wait than may; the newest are listed.
func TestManyWait(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.l.set(func(l *link) { l.off = true })
	for i := range 500 {
		row := map[string]any{"id": fmt.Sprint("old-", i), "printer": s.id, "kind": "test", "size": "A5",
			"stage": "waiting", "asked": time.Now()}
		if err := rows.Write(s.Tables, "prints", fmt.Sprint("old-", i), row); err != nil {
			t.Fatal(err)
		}
	}
	body := map[string]any{"id": webtest.NewID(), "printer": s.id, "kind": "test", "size": "A5"}
	var no struct{ Detail string }
	if got := s.Do("POST", "/api/v1/prints", body, &no); got != http.StatusServiceUnavailable ||
		!strings.Contains(no.Detail, "500 documents") {
		t.Errorf("one more: %d %q", got, no.Detail)
	}
	all := s.all()
	if len(all) != 200 || all[0].ID != "old-499" {
		t.Errorf("%d are listed, the first is %+v", len(all), all[0])
	}
	if got := s.Do("POST", "/api/v1/prints/"+all[0].ID, map[string]any{"do": "cancel"},
		nil); got != http.StatusOK {
		t.Fatalf("cancel: %d", got)
	}
	if now := s.all(); now[0].Stage != "cancelled" {
		t.Errorf("the last of the line, cancelled: %+v", now[0])
	}
	if got := s.Do("POST", "/api/v1/prints", body, nil); got != http.StatusAccepted {
		t.Errorf("there is room again: %d", got)
	}
	again := map[string]any{"do": "again"}
	if got := s.Do("POST", "/api/v1/prints/old-499", again, &no); got != http.StatusServiceUnavailable ||
		!strings.Contains(no.Detail, "500 documents") {
		t.Errorf("printed again as one more: %d %q", got, no.Detail)
	}
	if got := s.Do("POST", "/api/v1/prints/old-498", map[string]any{"do": "cancel"},
		nil); got != http.StatusOK {
		t.Fatalf("cancel: %d", got)
	}
	if got := s.Do("POST", "/api/v1/prints/old-499", again, nil); got != http.StatusOK {
		t.Errorf("printed again where there is room: %d", got)
	}
}

// A printer that forgets a job was switched off: nothing is printed again by itself, but
// by someone, under another name.
func TestForgotten(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.l.set(func(l *link) {
		l.progress = paper.Progress{Stage: paper.StagePrinting,
			Troubles: []paper.Trouble{paper.TroublePaperOut}}
	})
	id := s.print("W-501")
	s.until(id, "printing", "paper-out")
	s.l.set(func(l *link) { l.off = true })
	s.until(id, "printing", "off")
	s.l.set(func(l *link) { l.off, l.forgets = false, true })
	s.until(id, "unsure")
	s.l.set(func(l *link) { l.forgets, l.progress = false, paper.Progress{Stage: paper.StageDone} })
	if got := s.Do("POST", "/api/v1/prints/"+id, map[string]any{"do": "again"}, nil); got != http.StatusOK {
		t.Fatalf("again: %d", got)
	}
	s.until(id, "done")
	if n := s.names(); len(n) != 2 || n[0] == n[1] {
		t.Errorf("sent: %q", n)
	}
	if got := s.Do("POST", "/api/v1/prints/"+id, map[string]any{"do": "cancel"},
		nil); got != http.StatusConflict {
		t.Errorf("cancelled after its end: %d", got)
	}
}

func TestRefusedAndOff(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	for trouble, stage := range map[paper.Trouble]string{
		paper.TroubleFormat: "failed", paper.TroubleMedia: "failed", paper.TroubleAccess: "failed",
		paper.TroubleBusy: "waiting",
	} {
		s.l.set(func(l *link) { l.send = &paper.Refusal{Trouble: trouble, Message: "as the test has it"} })
		id := s.print("W-501")
		if p := s.until(id, stage, string(trouble)); p.Message != "as the test has it" {
			t.Errorf("%s: %+v", trouble, p)
		}
		s.l.set(func(l *link) { l.send = nil })
		if stage == "waiting" { // it is tried again by itself
			s.until(id, "done")
		}
	}
	s.l.set(func(l *link) { l.off = true })
	id := s.print("W-502")
	s.until(id, "waiting", "off")
	if got := s.Do("POST", "/api/v1/prints/"+id, map[string]any{"do": "cancel"}, nil); got != http.StatusOK {
		t.Fatalf("cancel: %d", got)
	}
	s.until(id, "cancelled")
}

// A document that the printer has is taken back there.
func TestTakenBack(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.l.set(func(l *link) { l.progress = paper.Progress{Stage: paper.StagePrinting} })
	id, other := s.print("W-501"), s.print("W-502")
	s.until(id, "printing")
	s.until(other, "waiting")
	if got := s.Do("POST", "/api/v1/prints/"+id, map[string]any{"do": "cancel"}, nil); got != http.StatusOK {
		t.Fatalf("cancel: %d", got)
	}
	s.until(id, "cancelled")
	s.until(other, "printing")
	if got := s.Do("DELETE", "/api/v1/printers/"+s.id, nil, nil); got != http.StatusOK {
		t.Fatalf("removing the printer: %d", got)
	}
	s.until(other, "cancelled")
	s.l.mu.Lock()
	defer s.l.mu.Unlock()
	if !slices.Equal(s.l.taken, []int{1}) {
		t.Errorf("taken back: %v", s.l.taken)
	}
}

// Where the shop wants it, a batch that is released has its card printed, once.
func TestOnRelease(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	release := func() {
		t.Helper()
		body := `{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ad","part":"1001-04","route_rev":"1","pieces":40,"works_order":"W-9"}`
		if got := s.Do("POST", "/api/v1/batches", body, nil); got != http.StatusCreated {
			t.Fatalf("release: %d", got)
		}
	}
	if got := s.Do("POST", "/api/v1/printing", map[string]any{"printer": s.id, "size": "A5"},
		nil); got != http.StatusOK {
		t.Fatalf("setting: %d", got)
	}
	release()
	release()
	all := s.all()
	if len(all) != 1 || all[0].Title != "W-9" {
		t.Fatalf("printed by itself: %+v", all)
	}
	s.until(all[0].ID, "done")
	if got := s.Do("POST", "/api/v1/printing", map[string]any{"printer": "x", "size": "A5"},
		nil); got != http.StatusNotFound {
		t.Errorf("a printer that there is not: %d", got)
	}
}

// Who may do what: administrators name addresses, who works or releases prints, a wall
// looks at neither addresses nor documents.
func TestWhoPrints(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	body := map[string]any{"name": "Mine", "address": "ipp://127.0.0.1:9"}
	for _, role := range []traveler.Role{traveler.RoleOperator, traveler.RoleSupervisor,
		traveler.RolePlanner} {
		r := s.As(role)
		if got := r.Do("POST", "/api/v1/printers", body, nil); got != http.StatusForbidden {
			t.Errorf("%s adds a printer: %d", role, got)
		}
		var v struct{ Printers []struct{ Address string } }
		if got := r.Do("GET", "/api/v1/printers", nil, &v); got != http.StatusOK || len(v.Printers) != 1 ||
			v.Printers[0].Address != "" {
			t.Errorf("%s sees %d %+v", role, got, v)
		}
		if got := r.Do("GET", "/api/v1/prints", nil, nil); got != http.StatusOK {
			t.Errorf("%s sees documents: %d", role, got)
		}
	}
	var screen struct{ Link string }
	s.Do("POST", "/api/v1/screens", map[string]any{"name": "Hall"}, &screen)
	wall := s.Visitor()
	wall.Token = ""
	wall.Do("GET", screen.Link[strings.Index(screen.Link, "/wall/"):], nil, nil)
	if got := wall.Do("GET", "/api/v1/printers", nil, nil); got != http.StatusForbidden {
		t.Errorf("a wall sees printers: %d", got)
	}
	if got := wall.Do("GET", "/api/v1/prints", nil, nil); got != http.StatusForbidden {
		t.Errorf("a wall sees documents: %d", got)
	}
	if got := wall.Do("POST", "/api/v1/prints", map[string]any{"id": webtest.NewID()},
		nil); got != http.StatusForbidden {
		t.Errorf("a wall prints: %d", got)
	}
	s.l.set(func(l *link) { l.off = true })
	var no struct{ Detail, Field string }
	if got := s.Do("POST", "/api/v1/printers", body, &no); got != http.StatusBadRequest &&
		got != http.StatusUnprocessableEntity || no.Field != "address" ||
		!strings.Contains(no.Detail, "ipp://127.0.0.1:9") {
		t.Errorf("a printer that does not answer: %d %+v", got, no)
	}
	for _, bad := range []map[string]any{
		{"id": "x", "printer": s.id, "kind": "test", "size": "A5"},
		{"id": webtest.NewID(), "printer": "x", "kind": "test", "size": "A5"},
		{"id": webtest.NewID(), "printer": s.id, "kind": "poem", "size": "A5"},
		{"id": webtest.NewID(), "printer": s.id, "kind": "card", "size": "A5"},
		{"id": webtest.NewID(), "printer": s.id, "kind": "card", "cards": []string{"nobody"}, "size": "A5"},
		{"id": webtest.NewID(), "printer": s.id, "kind": "test", "size": "A3"},
	} {
		if got := s.Do("POST", "/api/v1/prints", bad, nil); got < 400 || got >= 500 {
			t.Errorf("%v: %d", bad, got)
		}
	}
}
