// Package storetest is the suite that every implementation of story.Log
// passes.
package storetest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Tabled is a log that keeps tables as well.
type Tabled interface{ Tables() story.Tables }

// Run tests logs that open makes: each call gives an empty one. Format is the
// number that snapshots of this log carry. At the end of each test the log's
// invariants are checked.
func Run(t *testing.T, format int, open func(t *testing.T) story.Log) {
	for _, c := range []struct {
		name string
		fn   func(*suite)
	}{
		{"Empty", empty}, {"Append", appends}, {"Chain", chain}, {"WrongLast", wrongLast}, {"SameID", sameID},
		{"AllOrNothing", allOrNothing}, {"NotAnEntry", notAnEntry}, {"Get", get},
		{"EntriesStop", entriesStop},
		{"ManyEntries", manyEntries}, {"ReadWhileYielding", readWhileYielding}, {"Rows", rows},
		{"RowsOnly", rowsOnly}, {"Range", ranged},
		{"Snapshot", snapshot}, {"SnapshotAhead", snapshotAhead}, {"Reopen", reopen},
		{"NothingShared", nothingShared},
		{"Tables", tables}, {"Epochs", epochs}, {"EpochAndMore", epochAndMore},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &suite{T: t, log: open(t), format: format}
			t.Cleanup(func() { Check(t, s.log) })
			c.fn(s)
		})
	}
}

// Check checks what holds of every log: sequences run from 1 without a gap to
// the head, and every id leads to its entry.
func Check(t testing.TB, log story.Log) {
	t.Helper()
	want := traveler.Seq(0)
	err := log.Entries(1, func(e *traveler.Entry) bool {
		if want++; e.Seq != want {
			t.Errorf("sequence %d where %d should be", e.Seq, want)
		}
		if id := e.ID(); id != "" {
			if seq, err := log.Find(id); err != nil || seq != e.Seq {
				t.Errorf("id %s of entry %d leads to %d, %v", id, e.Seq, seq, err)
			}
		}
		return true
	})
	if err != nil {
		t.Errorf("reading the record: %v", err)
	}
	if head, _ := log.Head(); head != want {
		t.Errorf("head is %d after %d entries", head, want)
	}
}

type suite struct {
	*testing.T
	log    story.Log
	format int
}

// day is any day with whole milliseconds.
var day = time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC)

// Entry makes the entry of a small scan.
func Entry(seq traveler.Seq) *traveler.Entry {
	n := int(seq)
	return &traveler.Entry{
		Seq: seq, Arrived: day.Add(time.Duration(n) * time.Second),
		By: traveler.Actor{Name: "l1", Role: traveler.RoleOperator},
		Scan: &traveler.Scan{
			ID: ID(n), Device: "l1", At: day.Add(time.Duration(n)*time.Second - 40*time.Millisecond),
			Station: "L1", Card: "B00000019", Action: traveler.ActCount, Good: &n,
		},
		Outcome: traveler.Kept, Card: "B00000019", Machine: "L1",
	}
}

// ID makes the nth id.
func ID(n int) traveler.ScanID {
	return traveler.ScanID(fmt.Sprintf("019abcde-0000-7000-8000-%012x", n))
}

func run(from, to traveler.Seq) (out []*traveler.Entry) {
	for s := from; s <= to; s++ {
		out = append(out, Entry(s))
	}
	return out
}

func (s *suite) must(err error) {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
}

func (s *suite) want(got, want any) {
	s.Helper()
	if !reflect.DeepEqual(got, want) {
		s.Fatalf("got %v, want %v", got, want)
	}
}

func (s *suite) kind(err error, want traveler.ErrorKind) {
	s.Helper()
	if err == nil || traveler.KindOf(err) != want {
		s.Fatalf("got error %v, want one of kind %s", err, want)
	}
}

func (s *suite) head() traveler.Seq {
	seq, _ := s.log.Head()
	return seq
}

func (s *suite) all(from traveler.Seq) (out []*traveler.Entry) {
	s.Helper()
	s.must(s.log.Entries(from, func(e *traveler.Entry) bool {
		out = append(out, e)
		return true
	}))
	return out
}

func empty(s *suite) {
	seq, hash := s.log.Head()
	s.want(seq, traveler.Seq(0))
	s.want(hash, story.Hash{})
	s.want(len(s.all(0)), 0)
	snap, err := s.log.Load()
	s.must(err)
	s.want(snap, (*story.Snapshot)(nil))
	if s.log.Epoch() == "" {
		s.Error("a new record has no epoch")
	}
	found, err := s.log.Find(ID(1))
	s.must(err)
	s.want(found, traveler.Seq(0))
}

func appends(s *suite) {
	s.must(s.log.Append(0, run(1, 3), nil))
	s.must(s.log.Append(3, run(4, 4), nil))
	s.want(s.head(), traveler.Seq(4))
	s.want(s.all(1), run(1, 4))
	s.want(s.all(3), run(3, 4))
	s.want(len(s.all(5)), 0)
	for i := 1; i <= 4; i++ {
		seq, err := s.log.Find(ID(i))
		s.must(err)
		s.want(seq, traveler.Seq(i))
	}
}

// chain checks that links depend on what is kept and on what came before, and
// on nothing else.
func chain(s *suite) {
	s.must(s.log.Append(0, run(1, 2), nil))
	_, two := s.log.Head()
	s.must(s.log.Append(2, run(3, 3), []story.Row{{Bucket: "b", Key: "k", Value: []byte("v")}}))
	_, three := s.log.Head()
	if two == (story.Hash{}) || two == three || three == sha256.Sum256(nil) {
		s.Errorf("links %x and %x", two, three)
	}
	s.must(s.log.Append(3, nil, []story.Row{{Bucket: "b", Key: "k"}}))
	_, same := s.log.Head()
	s.want(same, three)
}

func wrongLast(s *suite) {
	s.must(s.log.Append(0, run(1, 2), nil))
	s.kind(s.log.Append(1, run(2, 3), nil), traveler.KindConflict)
	s.kind(s.log.Append(3, run(4, 4), nil), traveler.KindConflict)
	s.kind(s.log.Append(2, run(4, 4), nil), traveler.KindConflict)
	s.kind(s.log.Append(1, nil, []story.Row{{Bucket: "b", Key: "k", Value: []byte("v")}}),
		traveler.KindConflict)
	s.want(s.head(), traveler.Seq(2))
}

func sameID(s *suite) {
	s.must(s.log.Append(0, run(1, 2), nil))
	again := Entry(3)
	again.Scan.ID = ID(1)
	s.kind(s.log.Append(2, []*traveler.Entry{again}, nil), traveler.KindConflict)
	s.must(s.log.Reopen())
	twice := run(3, 4)
	twice[1].Scan.ID = ID(3)
	s.kind(s.log.Append(2, twice, nil), traveler.KindConflict)
	s.must(s.log.Reopen())
	released := &traveler.Entry{Seq: 3, Arrived: day,
		Release: &traveler.Release{ID: ID(2), Part: "P", RouteRev: "1", Pieces: 1, Wanted: 1}}
	s.kind(s.log.Append(2, []*traveler.Entry{released}, nil), traveler.KindConflict)
	s.must(s.log.Reopen())
	s.want(s.head(), traveler.Seq(2))
}

func allOrNothing(s *suite) {
	s.must(s.log.Append(0, run(1, 1), nil))
	part := run(2, 5)
	part[3].Scan.ID = ID(1)
	s.kind(s.log.Append(1, part, []story.Row{{Bucket: "b", Key: "k", Value: []byte("v")}}),
		traveler.KindConflict)
	s.must(s.log.Reopen())
	s.want(s.head(), traveler.Seq(1))
	s.want(s.all(1), run(1, 1))
	found, err := s.log.Find(ID(2))
	s.must(err)
	s.want(found, traveler.Seq(0))
	v, err := s.log.Row("b", "k")
	s.must(err)
	s.want(v, []byte(nil))
	s.kind(s.log.Append(1, run(2, 5), []story.Row{{Bucket: "b", Value: []byte("v")}}), traveler.KindInvalid)
	s.want(s.head(), traveler.Seq(1))
	s.must(s.log.Append(1, run(2, 5), nil))
}

func notAnEntry(s *suite) {
	for _, e := range []*traveler.Entry{
		{Seq: 1, Arrived: day},
		{Seq: 1, Arrived: day, Scan: Entry(1).Scan, Change: &traveler.Change{}},
		{Seq: 1, Arrived: day, Scan: &traveler.Scan{ID: "no id"}},
	} {
		if s.log.Append(0, []*traveler.Entry{e}, nil) == nil {
			s.Errorf("%+v was kept", e)
		}
		s.must(s.log.Reopen())
	}
	s.want(s.head(), traveler.Seq(0))
}

func get(s *suite) {
	s.must(s.log.Append(0, run(1, 9), nil))
	got, err := s.log.Get([]traveler.Seq{7, 2, 2, 9})
	s.must(err)
	s.want(got, []*traveler.Entry{Entry(7), Entry(2), Entry(2), Entry(9)})
	none, err := s.log.Get(nil)
	s.must(err)
	s.want(len(none), 0)
	for _, seq := range []traveler.Seq{0, 10} {
		_, err = s.log.Get([]traveler.Seq{1, seq})
		s.kind(err, traveler.KindNotFound)
	}
}

func entriesStop(s *suite) {
	s.must(s.log.Append(0, run(1, 9), nil))
	n := 0
	s.must(s.log.Entries(4, func(*traveler.Entry) bool {
		n++
		return n < 3
	}))
	s.want(n, 3)
}

func manyEntries(s *suite) {
	const many = 1500
	s.must(s.log.Append(0, run(1, many), nil))
	got := s.all(1)
	s.want(len(got), many)
	s.want(got[many-1], Entry(many))
}

// readWhileYielding checks that a slow reader may read and the writer may write
// while a list is being read.
func readWhileYielding(s *suite) {
	s.must(s.log.Append(0, run(1, 2), []story.Row{{Bucket: "b", Key: "k", Value: []byte("v")}}))
	s.must(s.log.Entries(1, func(e *traveler.Entry) bool {
		seq := s.head()
		s.must(s.log.Append(seq, run(seq+1, seq+1), nil))
		_, err := s.log.Get([]traveler.Seq{e.Seq})
		s.must(err)
		return e.Seq < 2
	}))
	s.must(s.log.Rows("b", func(string, []byte) bool {
		seq := s.head()
		s.must(s.log.Append(seq, run(seq+1, seq+1), nil))
		return true
	}))
}

func rows(s *suite) {
	put := func(bucket, key, value string) story.Row {
		return story.Row{Bucket: bucket, Key: key, Value: []byte(value)}
	}
	s.must(s.log.Append(0, run(1, 1),
		[]story.Row{put("b", "z", "1"), put("b", "a", "2"), put("c", "a", "3"), put("b", "m", "")}))
	s.want(s.rows("b"), []string{"a=2", "m=", "z=1"})
	s.must(s.log.Append(1, run(2, 2),
		[]story.Row{put("b", "a", "4"), {Bucket: "b", Key: "z"}, {Bucket: "none", Key: "z"}}))
	s.want(s.rows("b"), []string{"a=4", "m="})
	s.want(s.rows("c"), []string{"a=3"})
	s.want(len(s.rows("nowhere")), 0)
	s.must(s.log.Append(2, nil,
		[]story.Row{put("b", "x", "first"), put("b", "x", "second"), {Bucket: "b", Key: "m"}}))
	s.want(s.rows("b"), []string{"a=4", "x=second"})
	v, err := s.log.Row("b", "x")
	s.must(err)
	s.want(string(v), "second")
	for _, bk := range [][2]string{{"b", "z"}, {"nowhere", "z"}} {
		v, err = s.log.Row(bk[0], bk[1])
		s.must(err)
		s.want(v, []byte(nil))
	}
}

func (s *suite) rows(bucket string) (out []string) {
	s.Helper()
	s.must(s.log.Rows(bucket, func(key string, v []byte) bool {
		out = append(out, key+"="+string(v))
		return true
	}))
	return out
}

// ranged reads parts of a bucket, across what an implementation may read at
// once, with keys that are no text.
func ranged(s *suite) {
	key := func(n int) string { return "p\x00" + string([]byte{0xff, byte(n >> 8), byte(n)}) }
	var in []story.Row
	for n := range 1500 {
		in = append(in, story.Row{Bucket: "r", Key: key(n), Value: []byte{byte(n)}})
	}
	s.must(s.log.Append(0, nil, in))
	for _, c := range []struct{ from, to string }{{"", ""}, {key(3), key(1400)}, {key(3) + "x", ""},
		{"", key(0)}, {key(7), key(7)}, {"q", ""}} {
		var want, got []string
		for n := range 1500 {
			if k := key(n); k >= c.from && (c.to == "" || k < c.to) {
				want = append(want, k)
			}
		}
		s.must(s.log.Range("r", c.from, c.to,
			func(k string, _ []byte) bool { got = append(got, k); return true }))
		s.want(len(got), len(want))
		s.want(got, want)
	}
	n := 0
	s.must(s.log.Range("r", key(10), "", func(string, []byte) bool { n++; return n < 3 }))
	s.want(n, 3)
	s.must(s.log.Range("none", "", "", func(string, []byte) bool { panic("there is nothing") }))
}

func rowsOnly(s *suite) {
	var rs []story.Row
	var want []string
	for i := range 1300 {
		key := fmt.Sprintf("%05d", i)
		rs = append(rs, story.Row{Bucket: "b", Key: key, Value: []byte(key)})
		want = append(want, key+"="+key)
	}
	slices.Reverse(rs)
	s.must(s.log.Append(0, nil, rs))
	s.want(s.rows("b"), want)
	n := 0
	s.must(s.log.Rows("b", func(string, []byte) bool {
		n++
		return n < 600
	}))
	s.want(n, 600)
}

func (s *suite) snap() *story.Snapshot {
	seq, hash := s.log.Head()
	return &story.Snapshot{
		Seq: seq, Head: hex.EncodeToString(hash[:]), Rules: story.Rules, Format: s.format,
		Shop: []traveler.Seq{1}, Open: map[traveler.Code][]traveler.Seq{"B00000019": {2, 3}},
		Loose: []traveler.Seq{4},
	}
}

func snapshot(s *suite) {
	load := func() *story.Snapshot {
		snap, err := s.log.Load()
		s.must(err)
		return snap
	}
	nothing := s.snap()
	s.must(s.log.Save(nothing))
	s.want(load(), nothing)
	s.must(s.log.Append(0, run(1, 5), nil))
	s.want(load(), nothing)
	snap := s.snap()
	s.must(s.log.Save(snap))
	s.want(load(), snap)
	s.must(s.log.Append(5, run(6, 7), nil))
	s.must(s.log.Reopen())
	s.want(load(), snap)
	for _, spoil := range []func(*story.Snapshot){
		func(b *story.Snapshot) { b.Head = "00" + b.Head[2:] },
		func(b *story.Snapshot) { b.Seq-- },
		func(b *story.Snapshot) { b.Rules++ },
		func(b *story.Snapshot) { b.Format++ },
	} {
		bad := s.snap()
		spoil(bad)
		s.must(s.log.Save(bad))
		s.want(load(), (*story.Snapshot)(nil))
	}
}

// snapshotAhead checks a snapshot of a record that was longer, as after a
// restore of an older copy.
func snapshotAhead(s *suite) {
	s.must(s.log.Append(0, run(1, 2), nil))
	snap := s.snap()
	snap.Seq = 9
	s.must(s.log.Save(snap))
	got, err := s.log.Load()
	s.must(err)
	s.want(got, (*story.Snapshot)(nil))
}

func reopen(s *suite) {
	s.must(s.log.Append(0, run(1, 3), []story.Row{{Bucket: "b", Key: "k", Value: []byte("v")}}))
	epoch := s.log.Epoch()
	_, hash := s.log.Head()
	s.must(s.log.Reopen())
	seq, again := s.log.Head()
	s.want(seq, traveler.Seq(3))
	s.want(again, hash)
	s.want(s.log.Epoch(), epoch)
	s.want(s.all(1), run(1, 3))
	s.want(s.rows("b"), []string{"k=v"})
	s.must(s.log.Append(3, run(4, 4), nil))
}

// nothingShared checks that the log neither holds on to what it was given nor
// hands out what it holds.
func nothingShared(s *suite) {
	e, value := Entry(1), []byte("value")
	s.must(s.log.Append(0, []*traveler.Entry{e}, []story.Row{{Bucket: "b", Key: "k", Value: value}}))
	e.Scan.Note, value[0] = "changed", 'X'
	v, err := s.log.Row("b", "k")
	s.must(err)
	s.want(string(v), "value")
	v[0] = 'Y'
	got := s.all(1)
	s.want(got[0], Entry(1))
	*got[0].Scan.Good = 99
	s.want(s.all(1)[0], Entry(1))
	s.want(s.rows("b"), []string{"k=value"})
}

func tables(s *suite) {
	tabled, ok := s.log.(Tabled)
	if !ok {
		s.Fatal("the log keeps no tables")
	}
	tb := tabled.Tables()
	v, err := tb.Get("people", "P1")
	s.must(err)
	s.want(v, []byte(nil))
	s.must(tb.Delete("people", "P1"))
	s.must(tb.Put("people", "P2", []byte("two")))
	s.must(tb.Put("people", "P1", []byte("one")))
	s.must(tb.Put("people", "P1", []byte("uno")))
	s.must(tb.Put("tokens", "P1", []byte("other")))
	s.must(s.log.Reopen())
	var got []string
	s.must(tb.Each("people", func(k string, v []byte) bool {
		got = append(got, k+"="+string(v))
		return true
	}))
	s.want(got, []string{"P1=uno", "P2=two"})
	s.must(tb.Delete("people", "P1"))
	v, err = tb.Get("people", "P1")
	s.must(err)
	s.want(v, []byte(nil))
	v, err = tb.Get("tokens", "P1")
	s.must(err)
	s.want(string(v), "other")
	s.want(s.head(), traveler.Seq(0))
}
