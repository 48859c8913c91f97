package main

import (
	"bytes"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/labels/ipp/ipptest"
	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// printing is a shop with a printer by others on its network.
type printing struct {
	*rig
	eve *ipptest.Eve
	id  string
}

func newPrinting(t *testing.T, dir string, eve *ipptest.Eve) printing {
	t.Helper()
	r := newRig(t, rigOptions{dir: dir})
	p := printing{r.as(traveler.RoleAdministrator), eve, ""}
	var all struct{ Printers []struct{ ID string } }
	p.do("GET", "/api/v1/printers", nil, &all)
	if len(all.Printers) == 0 {
		var made struct{ ID string }
		if got := p.do("POST", "/api/v1/printers", map[string]any{"name": "Office", "address": eve.URI},
			&made); got != http.StatusCreated {
			t.Fatalf("adding the printer: %d", got)
		}
		p.id = made.ID
		return p
	}
	p.id = all.Printers[0].ID
	return p
}

func (p printing) send(card string) string {
	p.t.Helper()
	id := webtest.NewID()
	body := map[string]any{"id": id, "printer": p.id, "kind": "card", "cards": []string{card}, "size": "A5"}
	if got := p.do("POST", "/api/v1/prints", body, nil); got != http.StatusAccepted {
		p.t.Fatalf("printing: %d", got)
	}
	return id
}

// until waits for a document to be in a stage, with troubles.
func (p printing) until(id, stage string, troubles ...string) {
	p.t.Helper()
	deadline := time.Now().Add(2 * time.Minute)
	every := time.NewTicker(50 * time.Millisecond)
	defer every.Stop()
	var v struct {
		Prints []struct {
			ID, Stage string
			Troubles  []string
		}
	}
	for ; time.Now().Before(deadline); <-every.C {
		p.do("GET", "/api/v1/prints", nil, &v)
		for _, x := range v.Prints {
			if x.ID == id && x.Stage == stage && slices.Equal(x.Troubles, append([]string{}, troubles...)) {
				return
			}
		}
	}
	p.t.Fatalf("%s is never %s with %v: %+v", id, stage, troubles, v.Prints)
}

// A card goes to the printer as it is; out of paper is said; a printer that is killed
// midway and started again prints nothing twice: what it may have printed is for someone
// to look at, what waited for it comes out once.
func TestPrinterKilledMidway(t *testing.T) {
	t.Parallel()
	p := newPrinting(t, "", ipptest.Start(t, ipptest.Options{}))
	var says struct {
		Answers, PDF bool
		Sizes        []string
	}
	if got := p.do("GET", "/api/v1/printers/"+p.id, nil, &says); got != 200 || !says.Answers || !says.PDF ||
		!slices.Equal(says.Sizes, []string{"A5", "A4", "A4x2"}) {
		t.Fatalf("the printer says %d %+v", got, says)
	}
	p.until(p.send("W-501"), "done")
	all := p.eve.Printed()
	if len(all) != 1 || !bytes.HasPrefix(all[0], []byte("%PDF-")) ||
		!strings.Contains(pdfText(t, all[0]), "W-501") {
		t.Fatalf("%d documents, or not the card", len(all))
	}
	p.eve.Set("out")
	under := p.send("W-502")
	waits := p.send("W-503")
	p.until(under, "printing", "paper-out")
	p.eve.Off()
	p.until(under, "printing", "off")
	p.eve.Clear("out")
	p.eve.On()
	p.until(under, "unsure")
	p.until(waits, "done")
	if n := len(p.eve.Printed()); n != 2 {
		t.Errorf("%d came out, want 2: the one before, and the one that waited", n)
	}
	if n := p.eve.Spooled(); n != 3 {
		t.Errorf("the printer was given %d documents, want 3, each once", n)
	}
	if got := p.do("POST", "/api/v1/prints/"+under, map[string]any{"do": "again"},
		nil); got != http.StatusOK {
		t.Fatalf("again: %d", got)
	}
	p.until(under, "done")
	if n := len(p.eve.Printed()); n != 3 {
		t.Errorf("%d came out after someone had it printed again, want 3", n)
	}
}

// The program may end while a card is at the printer: the next one goes on with it.
func TestPrintingGoesOnAfterARestart(t *testing.T) {
	t.Parallel()
	p := newPrinting(t, filepath.Join(t.TempDir(), "shop"), ipptest.Start(t, ipptest.Options{}))
	p.eve.Set("out")
	id := p.send("W-501")
	p.until(id, "printing", "paper-out")
	waits := p.send("W-502")
	p.stop()
	p.eve.Clear("out")
	p = newPrinting(t, p.dir, p.eve)
	p.until(id, "done")
	p.until(waits, "done")
	if n := p.eve.Spooled(); n != 2 {
		t.Errorf("the printer was given %d documents, want 2", n)
	}
}

// Batches that a list brings to the running server, by the command, are printed as those
// that are released on the page.
func TestImportedBatchesArePrinted(t *testing.T) {
	t.Parallel()
	p := newPrinting(t, "", ipptest.Start(t, ipptest.Options{}))
	if got := p.do("POST", "/api/v1/printing", map[string]any{"printer": p.id, "size": "A5"},
		nil); got != http.StatusOK {
		t.Fatalf("setting: %d", got)
	}
	p.cli("import", "batches",
		p.written("batches.csv",
			"part,route_rev,pieces,works_order\n1001-04,1,40,W-801\n1001-04,1,20,W-802\n"))
	var v struct{ Prints []struct{ ID, Title string } }
	p.do("GET", "/api/v1/prints", nil, &v)
	if len(v.Prints) != 1 || v.Prints[0].Title != "W-801, W-802" {
		t.Fatalf("printed on release: %+v", v.Prints)
	}
	p.until(v.Prints[0].ID, "done")
	if n := len(p.eve.Printed()); n != 1 {
		t.Errorf("%d documents came out, want 1", n)
	}
}

// The page adds a printer, shows what it says, and what becomes of a test page.
func TestPrintersPage(t *testing.T) {
	t.Parallel()
	eve := ipptest.Start(t, ipptest.Options{})
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r).open("/printers").waitFor("printer-name")
	b.filled("printer-name", "Office").filled("printer-address", "127.0.0.1:1/ipp/print").click(
		"printer-go").waitFor("problem")
	b.filled("printer-address", eve.URI).click("printer-go").waitFor("printer")
	b.click("check").waitFor("printer-says")
	eve.Set("out")
	b.click("test-A5").until(
		`document.querySelector('[data-test="trouble"]')?.dataset.trouble === 'paper-out'`)
	eve.Clear("out")
	b.until(`document.querySelector('[data-test="stage"]')?.dataset.stage === 'done'`)
	b.open("/batch/W-501").waitFor("print-to").click("print-on-A5").waitFor("note-action").click(
		"note-action")
	b.until(`document.querySelectorAll('[data-stage="done"]').length === 2`)
	if n := len(eve.Printed()); n != 2 {
		t.Errorf("%d came out, want 2", n)
	}
	b.until(`(() => { // what cancels never lies where "print again" was pressed
		const [cancel, again] = ["cancel", "again"].map((x) => document.querySelector('[data-test="' + x + '"]').getBoundingClientRect());
		return cancel.width > 0 && (cancel.right <= again.left || cancel.bottom <= again.top) })()`)
	b.click("remove").waitFor("dialog").click("dialog-close").until(
		`!document.querySelector("dialog")`).waitFor("printer")
	b.click("remove").waitFor("dialog").click("dialog-go").until(`!document.querySelector("section.printer")`)
}
