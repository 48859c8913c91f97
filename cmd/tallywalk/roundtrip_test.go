package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/story"
)

// copyOf opens an empty house at a moment, with the shop of another.
func copyOf(t *testing.T, from *house, now time.Time) *house {
	t.Helper()
	hs := emptyHouse(t, now)
	if err := hs.keep(settings{Zone: "Europe/Berlin"}); err != nil {
		t.Fatal(err)
	}
	if err := from.desk.Entries(1, func(e *traveler.Entry) bool {
		if e.Change != nil {
			if err := hs.desk.Change(context.Background(), importer, e.Change); err != nil {
				t.Fatal(err)
			}
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	return hs
}

func exportOf(t *testing.T, hs *house, what string, f intake.Format) []byte {
	t.Helper()
	var b bytes.Buffer
	zone, err := zoneOf("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	if err := intake.Export(&b, hs.desk, what, f, zone, intake.Selection{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func takeIn(t *testing.T, hs *house, kind, file string, b []byte) string {
	t.Helper()
	var out strings.Builder
	if err := hs.doImport(t.Context(), request{Do: "import", Kind: kind, File: file}, bytes.NewReader(b),
		&out); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return out.String()
}

// asInLedger rounds a batch's facts as the ledger keeps them, to a millisecond and a
// centimetre: a batch that is done may be read from it or from its story.
func asInLedger(b *story.BatchFact) {
	cm := func(metres float64) float64 { return math.Round(100*metres) / 100 }
	b.Metres = cm(b.Metres)
	b.Ops, b.Trip = slices.Clone(b.Ops), slices.Clone(b.Trip)
	for i := range b.Ops {
		o := &b.Ops[i]
		o.PlanSetup, o.PlanPiece = o.PlanSetup.Truncate(time.Millisecond), o.PlanPiece.Truncate(
			time.Millisecond)
	}
	for i := range b.Visits {
		b.Visits[i].Metres = cm(b.Visits[i].Metres)
	}
	for i := range b.Trip {
		b.Trip[i].Metres = cm(b.Trip[i].Metres)
	}
}

// factsOf reads all facts by card. What an import is marked by is left out.
func factsOf(t *testing.T, hs *house) map[traveler.Code]string {
	t.Helper()
	out := map[traveler.Code]string{}
	if err := hs.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		c := *b
		c.Imported, c.Visits = false, slices.Clone(b.Visits)
		slices.SortFunc(c.Visits, func(a, b story.VisitFact) int { return cmp.Compare(a.Visit, b.Visit) })
		asInLedger(&c)
		out[b.Card] = fmt.Sprintf("%+v", c)
		return true
	}); err != nil {
		t.Fatal(err)
	}
	return out
}

// boardsOf is what live boards show of each family on the floor. Sequences are the
// record's own.
func boardsOf(t *testing.T, hs *house, now time.Time) map[traveler.Code]string {
	t.Helper()
	out := map[traveler.Code]string{}
	hs.desk.Open(func(f *story.Family) bool {
		rows := board.Rows(hs.desk.Shop(), f, now.Format(time.DateOnly), now)
		text, err := json.Marshal(rows)
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) > 0 { // a family that ended has none, in memory or not
			out[f.Root] = string(text)
		}
		return true
	})
	return out
}

// What was exported and imported again makes the same story: three weeks of the
// invented shop, with its splits, undone and corrected scans, late ones, reviews
// and refusals, out and in again in each format.
func TestExportedShopIsTheSame(t *testing.T) {
	t.Parallel()
	shop, from := simulatedShop(t, 11, 3)
	now := shop.Clock().Now()
	want := factsOf(t, from)
	imported := func(hs *house) (marked int) {
		if err := hs.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
			if b.Imported {
				marked++
			}
			return true
		}); err != nil {
			t.Fatal(err)
		}
		return marked
	}
	if n := imported(from); n != 0 {
		t.Errorf("%d batches that were scanned here count as imported", n)
	}
	for _, f := range []intake.Format{intake.JSONL, intake.CSV, intake.XLSX} {
		t.Run(string(f), func(t *testing.T) {
			batches, scans := exportOf(t, from, "batches", f), exportOf(t, from, "scans", f)
			to := copyOf(t, from, now)
			takeIn(t, to, "batches", "batches."+string(f), batches)
			first := takeIn(t, to, "scans", "scans."+string(f), scans)
			got := factsOf(t, to)
			if len(got) != len(want) {
				t.Errorf("%d batches, want %d", len(got), len(want))
			}
			wrong := 0
			for card, w := range want {
				if got[card] != w {
					if wrong++; wrong <= 3 {
						t.Errorf("%s:\n got %s\nwant %s", card, got[card], w)
					}
				}
			}
			shown := boardsOf(t, to, now)
			boards := boardsOf(t, from, now)
			if len(boards) < 5 || len(shown) != len(boards) {
				t.Errorf("%d families on the boards, want %d and at least 5", len(shown), len(boards))
			}
			for root, w := range boards {
				if shown[root] != w {
					t.Errorf("on the boards, %s:\n got %s\nwant %s", root, shown[root], w)
				}
			}
			if wrong > 0 {
				t.Errorf("%d of %d batches are not the same", wrong, len(want))
			}
			if imported(to) < len(want)/2 {
				t.Errorf("only %d of %d batches are marked as imported", imported(to), len(want))
			}
			if again := takeIn(t, to, "batches", "batches."+string(f), batches); !strings.HasPrefix(again,
				"0 batches released, 0 updated") {
				t.Errorf("batches again: %s", again)
			}
			seq, _ := to.desk.Head()
			if again := takeIn(t, to, "scans", "scans."+string(f), scans); !strings.HasPrefix(again,
				"0 scans imported, ") {
				t.Errorf("first %s, again %s", first, again)
			}
			if now, _ := to.desk.Head(); now != seq {
				t.Errorf("the record grew from %d to %d", seq, now)
			}
			if back := exportOf(t, to, "scans", intake.JSONL); !sameScans(t,
				exportOf(t, from, "scans", intake.JSONL), back) {
				t.Error("the scans that came back are not those that went out")
			}
		})
	}
}

// sameScans compares what was said and when it arrived; who answers for it is
// the import now, and sequences are the record's own.
func sameScans(t *testing.T, a, b []byte) bool {
	t.Helper()
	read := func(raw []byte) (out []string) {
		if err := intake.ReadScans("scans", bytes.NewReader(raw), func(k *intake.Kept) bool {
			k.Line, k.Taken.Say = 0, traveler.Msg{}
			s := k.Scan
			out = append(out,
				fmt.Sprintf("%+v %v %v %v %v %+v", k.Taken, deref(s.Good), deref(s.Missing), deref(s.Reads),
					s.Present == nil || *s.Present, bare(s)))
			return true
		}); err != nil {
			t.Fatal(err)
		}
		return out
	}
	return slices.Equal(read(a), read(b))
}

func deref(p *int) int {
	if p == nil {
		return -1
	}
	return *p
}

// bare is a scan without its pointers, but with the moment it happened.
func bare(s traveler.Scan) traveler.Scan {
	if s.Happened != nil {
		s.Note += s.Happened.String()
	}
	s.Good, s.Missing, s.Reads, s.Present, s.Happened = nil, nil, nil, nil, nil
	return s
}

// Scans that are exported day by day, or in four parts of a day, are those of one export,
// each once.
func TestExportInParts(t *testing.T) {
	t.Parallel()
	shop, hs := simulatedShop(t, 11, 1)
	now := shop.Clock().Now()
	zone, err := zoneOf("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	ids := func(sel intake.Selection) (out []string) {
		var b bytes.Buffer
		if err := intake.Export(&b, hs.desk, "scans", intake.JSONL, zone, sel); err != nil {
			t.Fatal(err)
		}
		if b.Len() == 0 { // no such file
			return nil
		}
		if err := intake.ReadScans("scans", &b, func(k *intake.Kept) bool {
			out = append(out, string(k.Scan.ID))
			return true
		}); err != nil {
			t.Fatal(err)
		}
		return out
	}
	begin, end := now.AddDate(0, 0, -9), now.AddDate(0, 0, 1)
	want := ids(intake.Selection{From: begin, To: end})
	slices.Sort(want)
	for _, part := range []time.Duration{24 * time.Hour, 6 * time.Hour} {
		var got []string
		for from := begin; from.Before(end); from = from.Add(part) {
			to := from.Add(part)
			if to.After(end) {
				to = end
			}
			got = append(got, ids(intake.Selection{From: from, To: to})...)
		}
		slices.Sort(got)
		if len(want) < 100 || !slices.Equal(got, want) {
			t.Errorf("in parts of %v %d scans, at once %d", part, len(got), len(want))
		}
	}
}
