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
	b.reads("finish").waitFor("counts").reads("key.all", "key.ok").recorded(card, "setup", "run", "count", "stop", "undo", "finish")

	var story struct {
		Lines []struct {
			Scan struct {
				Action, Reason string
				At             time.Time
				Happened       *time.Time
				Good, Missing  int
				Scrap          []traveler.Loss
			}
		}
	}
	r.do("GET", "/api/v1/batches/"+card+"/story", nil, &story)
	for _, l := range story.Lines {
		switch s := l.Scan; s.Action {
		case "count":
			if fmt.Sprint(s.Good, s.Missing, s.Scrap) != "25 3 [{size 1 0} {position 2 0}]" {
				t.Errorf("counted %d good, %d missing, %v", s.Good, s.Missing, s.Scrap)
			}
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
