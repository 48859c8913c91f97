package store

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// FuzzParseHead: an end of a record reads back as it is written out.
func FuzzParseHead(f *testing.F) {
	for _, s := range []string{"1200:9f3c11ab77e04d21", "1,200 9f3c 11ab 77e0 4d21", "", ":", "0:00000000",
		"18446744073709551616:00000000", "1:9"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		seq, link, err := ParseHead(s)
		if err != nil {
			return
		}
		again, same, err := ParseHead(seq.String() + ":" + hex.EncodeToString(link))
		if err != nil || again != seq || !bytes.Equal(same, link) || len(link) < 4 || len(link) > 32 {
			t.Fatalf("%q reads as %d %x, which reads as %d %x: %v", s, seq, link, again, same, err)
		}
		if h, err := parseHead(s); (err == nil) != (len(link) == 32) ||
			err == nil && (h.seq != seq || !bytes.Equal(h.link[:], link)) {
			t.Fatalf("%q is %v: %v", s, h, err)
		}
	})
}

// FuzzHeadIn: the head in the file reads back as the same bytes.
func FuzzHeadIn(f *testing.F) {
	f.Add(head{seq: 1200, link: story.Hash{1, 2, 3}}.bytes())
	f.Add([]byte{})
	f.Add(make([]byte, 41))
	f.Fuzz(func(t *testing.T, v []byte) {
		h, err := headIn(v)
		if (err == nil) != (len(v) == 40) || err == nil && !bytes.Equal(h.bytes(), v) {
			t.Fatalf("%x reads as %v: %v", v, h, err)
		}
	})
}

// FuzzFactRow: a row that reads can be written and read again; it takes no
// more memory than its own length allows, and lent lists say the same.
func FuzzFactRow(f *testing.F) {
	for _, b := range []*story.BatchFact{
		{}, {Card: "B7K2M9QXA", Part: "bracket",
			Visits: []story.VisitFact{{Visit: storetest.Ordinary(1).Scan.ID}}},
	} {
		row, err := PackFacts(b)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(row)
	}
	f.Add([]byte{})
	f.Add(bytes.Repeat([]byte{0xff}, 40))
	f.Fuzz(func(t *testing.T, row []byte) {
		b, err := NewFactReader(0, false).Read(row)
		lent, lentErr := NewFactReader(0, true).Read(row)
		if (err == nil) != (lentErr == nil) {
			t.Fatalf("%x: %v, and lent %v", row, err, lentErr)
		}
		if cap(b.Visits) > 2*len(row)+64 {
			t.Fatalf("%d bytes make room for %d visits", len(row), cap(b.Visits))
		}
		if err != nil {
			return
		}
		once, err := PackFacts(b)
		if err != nil {
			t.Fatalf("%x cannot be written: %v", row, err)
		}
		again, err := NewFactReader(0, false).Read(once)
		if err != nil {
			t.Fatalf("%x became %x: %v", row, once, err)
		}
		if twice, err := PackFacts(again); err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("%x became %x, and that %x: %v", row, once, twice, err)
		}
		if other, err := PackFacts(lent); err != nil || !bytes.Equal(once, other) {
			t.Fatalf("%x is %x, and lent %x: %v", row, once, other, err)
		}
	})
}

// FuzzSnapshot: a snapshot of any bytes is one that fits the record, or none.
func FuzzSnapshot(f *testing.F) {
	link := story.Hash{1, 2, 3}
	good := story.Snapshot{
		Seq: 7, Head: hex.EncodeToString(link[:]), Rules: story.Rules, Format: LedgerFormat,
		Open: map[traveler.Code][]traveler.Seq{"B7K2M9QXA": {1, 2}},
	}
	data, err := json.Marshal(&good)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add(bytes.Replace(data, []byte(`"seq":7`), []byte(`"seq":0`), 1))
	f.Add([]byte("null"))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		s := fitting(data, func(seq traveler.Seq) (story.Hash, bool) { return link, seq == 7 })
		if s == nil {
			return
		}
		if s.Seq != 7 && (s.Seq != 0 || s.Head != hex.EncodeToString(make([]byte, 32))) ||
			s.Rules != story.Rules || s.Format != LedgerFormat {
			t.Fatalf("%q fits as %+v", data, s)
		}
		again, err := json.Marshal(s)
		if err != nil || fitting(again, func(traveler.Seq) (story.Hash, bool) { return link, true }) == nil {
			t.Fatalf("%q reads as %s, which does not: %v", data, again, err)
		}
	})
}

// FuzzGroup reads groups as another server might send them: what is read is whole, and
// goes on as it came.
func FuzzGroup(f *testing.F) {
	at := time.Date(2026, 11, 2, 6, 0, 0, 0, time.UTC)
	good := 3
	g, err := LinkAfter(0, story.Hash{}, []*traveler.Entry{
		{Seq: 1, Arrived: at, By: Restorer, Epoch: "00ff00ff00ff00ff"},
		{Seq: 2, Arrived: at, By: Restorer, Outcome: traveler.Kept, Scan: &traveler.Scan{
			ID: "00000001-0000-7000-8000-000000000001", At: at, Station: "T1", Card: "B1",
			Action: traveler.ActCount, Good: &good,
		}},
	})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(g.Append(nil))
	f.Add(g.Append(nil)[:40])
	f.Add([]byte{0, 0xff, 0xff, 0xff, 0xff, 0x7f})
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := ReadGroup(data, 0, story.Hash{})
		if err != nil {
			if traveler.KindOf(err) != traveler.KindCorrupt {
				t.Fatalf("an error of kind %s: %v", traveler.KindOf(err), err)
			}
			return
		}
		again, err := ReadGroup(got.Append(nil), 0, story.Hash{})
		if err != nil || !reflect.DeepEqual(again.Entries(), got.Entries()) {
			t.Fatalf("it goes on as another one: %v", err)
		}
	})
}
