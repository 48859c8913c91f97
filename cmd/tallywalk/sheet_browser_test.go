package main

import (
	"fmt"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/traveler"
)

// reads reads codes of the action sheet, by their names.
func (b *tab) reads(names ...string) *tab {
	b.t.Helper()
	codes := map[string]traveler.Code{}
	for _, g := range kiosk.Sheet(nil) {
		for _, c := range g.Codes {
			codes[c.Name] = c.Code
		}
	}
	for _, name := range names {
		if codes[name] == "" {
			b.t.Fatalf("%s is not on the sheet", name)
		}
		b.readyForKeys().scanner(string(codes[name]))
	}
	return b
}

// reason reads the code of a reason.
func (b *tab) reason(kind, reason string) *tab {
	b.t.Helper()
	return b.readyForKeys().scanner(string(traveler.ReasonCode(kind, reason)))
}

// readyForKeys waits as a person does who looks before the next code.
func (b *tab) readyForKeys() *tab {
	b.t.Helper()
	return b.ready().until(`document.readyState === 'complete'`)
}

// All is said with a scanner and the action sheet, nothing is touched: a step before
// its card, an earlier time, pieces with their reasons in either order, a stop with its
// reason, and what is taken back.
func TestByScannerAlone(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b, card := browse(t, r).station("T1"), r.card("W-502")

	other := r.card("W-503")
	b.reads("setup").untilSays("edge", "scan the card")
	b.scanner(other).recorded(other, "setup")
	b.scanner(card).likely("setup").reads("when.15", "setup").recorded(card, "setup")
	b.reads("run").recorded(card, "setup", "run")
	b.reads("count").waitFor("counts")
	b.reads("2", "5", "outcome.scrap", "1").reason("scrap", "size").reason("scrap", "position").reads("2")
	b.reads("outcome.missing", "3", "key.ok").recorded(card, "setup", "run", "count")
	b.reads("stop").waitFor("reasons").reason("stop", "tool").recorded(card, "setup", "run", "count", "stop")
	b.reads("undo").recorded(card, "setup", "run", "count", "stop", "undo")
	b.reads("finish").waitFor("counts").reads("key.all", "key.ok").recorded(card, "setup", "run", "count",
		"stop", "undo", "finish")

	if c := r.counted(card); c[0] != "25 good, 3 missing, scrap [{size 1 0} {position 2 0}]" {
		t.Errorf("counted %v", c)
	}
	var story struct {
		Lines []struct {
			Scan struct {
				Action, Reason string
				At             time.Time
				Happened       *time.Time
			}
		}
	}
	r.do("GET", "/api/v1/batches/"+card+"/story", nil, &story)
	for _, l := range story.Lines {
		switch s := l.Scan; s.Action {
		case "setup":
			if s.Happened == nil || s.At.Sub(*s.Happened).Round(time.Minute) != 15*time.Minute {
				t.Errorf("set up at %v, said to be at %v", s.At, s.Happened)
			}
		case "stop":
			if s.Reason != "tool" {
				t.Errorf("stopped for %q", s.Reason)
			}
		}
	}
}

// counted is what each count of a batch said.
func (r *rig) counted(card string) (out []string) {
	r.t.Helper()
	var story struct {
		Lines []struct {
			Scan struct {
				Action        string
				Good, Missing int
				Scrap         []traveler.Loss
			}
		}
	}
	r.do("GET", "/api/v1/batches/"+card+"/story", nil, &story)
	for _, l := range story.Lines {
		if s := l.Scan; s.Action == "count" {
			out = append(out, fmt.Sprintf("%d good, %d missing, scrap %v", s.Good, s.Missing, s.Scrap))
		}
	}
	return out
}

// A step that was read before its card is forgotten when another batch's card does
// not come soon; what stands for nothing here says so.
func TestSheetOutOfPlace(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b, card := browse(t, r).station("T1"), r.card("W-503")
	b.reason("scrap", "size").untilSays("told-text", "counting").click("told-ok")
	b.scanner(card).likely("setup")
	b.reads("outcome.scrap").untilSays("told-text", "counting").click("told-ok")
	if got := r.lines(card); len(got) != 0 {
		t.Errorf("the batch's scans are %v", got)
	}
}

// Twenty good and one scrapped with its reason take six taps, from the card on; a
// verdict takes two.
func TestTaps(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card, first := r.card("W-502"), r.card("W-501")
	r.scan(said{"station": "T1", "card": card, "action": "run"},
		said{"station": "T1", "card": first, "action": "setup"},
		said{"station": "T1", "card": first, "action": "firstoff"})
	b := browse(t, r).station("T1").scanner(card).likely("count")
	for _, tap := range []string{"likely", "digit-2", "digit-0", "outcome-scrap", "reason-size",
		"counts-ok"} {
		b.click(tap)
	}
	b.recorded(card, "run", "count")
	if c := r.counted(card); len(c) != 1 || c[0] != "20 good, 0 missing, scrap [{size 1 0}]" {
		t.Errorf("counted %v", c)
	}
	b.scanner(first).likely("verdict").click("likely").click("accept").recorded(first, "setup", "firstoff",
		"firstoff")
}
