package store

import (
	"crypto/sha256"
	"encoding/json"
	"reflect"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
	"pgregory.net/rapid"

	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// filler fills every exported field of a value that the record holds, so that a
// field added to the domain is tested without anybody thinking of it.
type filler struct{ t *rapid.T }

func (f filler) fill(v reflect.Value, name string) {
	switch v.Interface().(type) {
	case time.Time:
		ms := rapid.Int64Range(946684800000, 253402300799999).Draw(f.t, name)
		v.Set(reflect.ValueOf(time.UnixMilli(ms).UTC()))
		return
	case traveler.ScanID:
		v.SetString(string(NameID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(f.t, name))))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(rapid.String().Draw(f.t, name))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(f.t, name))
	case reflect.Int, reflect.Int64:
		v.SetInt(rapid.Int64Range(-1<<40, 1<<40).Draw(f.t, name))
	case reflect.Uint64:
		v.SetUint(rapid.Uint64().Draw(f.t, name))
	case reflect.Float64:
		v.SetFloat(rapid.Float64Range(0, 1e9).Draw(f.t, name))
	case reflect.Pointer:
		if rapid.Bool().Draw(f.t, name+"?") {
			v.Set(reflect.New(v.Type().Elem()))
			f.fill(v.Elem(), name)
		}
	case reflect.Slice:
		if n := rapid.IntRange(0, 3).Draw(f.t, name+"#"); n > 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
		}
		for i := range v.Len() {
			f.fill(v.Index(i), name)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f.fill(v.Field(i), v.Type().Field(i).Name)
		}
	default:
		f.t.Fatalf("%s: no way to fill a %s", name, v.Type())
	}
}

func anEntry(t *rapid.T) *traveler.Entry {
	e := &traveler.Entry{}
	filler{t}.fill(reflect.ValueOf(e).Elem(), "entry")
	s, r, c := &traveler.Scan{}, &traveler.Release{}, &traveler.Change{}
	e.Scan, e.Release, e.Change = nil, nil, nil
	switch rapid.IntRange(0, 3).Draw(t, "which") {
	case 0:
		e.Scan = s
		filler{t}.fill(reflect.ValueOf(s).Elem(), "scan")
		if rapid.Bool().Draw(t, "plain") {
			e.By.Name, e.Card, e.Machine = string(s.Device), traveler.Code(s.Card), traveler.MachineID(
				s.Station)
			e.Outcome = rapid.SampledFrom(
				[]traveler.Outcome{traveler.Kept, traveler.Questioned, traveler.Refused, ""}).Draw(t,
				"outcome")
			s.Action = rapid.SampledFrom(traveler.Actions).Draw(t, "action")
			e.By.Role = traveler.RoleInspector
		}
		if rapid.Bool().Draw(t, "same basis") {
			s.Basis = e.Seq
		}
		if rapid.Bool().Draw(t, "no visit") {
			s.Visit = ""
		}
	case 1:
		e.Release = r
		filler{t}.fill(reflect.ValueOf(r).Elem(), "release")
		if rapid.Bool().Draw(t, "unsaid") {
			r.Due, r.Released = time.Time{}, time.Time{}
		}
	case 2:
		e.Change = c
		filler{t}.fill(reflect.ValueOf(c).Elem(), "change")
	case 3:
		e.Epoch = "e" + e.Epoch // begins an epoch
	}
	return e
}

func TestEntryComesBackAsItWent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anEntry(t)
		data, err := Encode(nil, e)
		if err != nil {
			t.Fatal(err)
		}
		var b body
		if err := json.Unmarshal(data, &b); err != nil {
			t.Fatal(err)
		}
		if plain := asText(t, b); len(b.Scrap)+len(b.Rework)+len(b.Review) == 0 && plain != string(data) {
			t.Fatalf("%s\nby hand, and by encoding/json\n%s", data, plain)
		}
		back, err := decode(e.Seq, data)
		if err != nil {
			t.Fatalf("%s: %v", data, err)
		}
		if !reflect.DeepEqual(back, e) {
			t.Fatalf("%s\ngave %s\nfor  %s", data, asText(t, back), asText(t, e))
		}
	})
}

func asText(t interface{ Fatal(...any) }, v any) string {
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestOrdinaryScanIsSmall(t *testing.T) {
	body, err := Encode(nil, storetest.Ordinary(1234567))
	if err != nil {
		t.Fatal(err)
	}
	if len(body) > 170 {
		t.Errorf("%d bytes: %s", len(body), body)
	}
}

// TestScanOnDisk measures what a scan costs in the file, with its link and its
// id in the index.
func TestScanOnDisk(t *testing.T) {
	const n, group = 40000, 400
	f := openFile(t, t.TempDir())
	used := func() int64 {
		var size int64
		if err := f.view("", func(tx *bolt.Tx) error {
			size = tx.Size() - int64(f.db.Stats().FreePageN*4096)
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		return size
	}
	before := used()
	for i := traveler.Seq(0); i < n; i += group {
		var part []*traveler.Entry
		for seq := i + 1; seq <= i+group; seq++ {
			e := storetest.Ordinary(seq)
			e.Scan.ID = storetest.UUID7(e.Arrived.Add(time.Duration(seq)*time.Second), uint64(seq))
			part = append(part, e)
		}
		if err := f.Append(i, part, nil); err != nil {
			t.Fatal(err)
		}
	}
	if per := float64(used()-before) / n; per > 300 {
		t.Errorf("%.0f bytes a scan", per)
	}
}

func TestLinksAreSHA256(t *testing.T) {
	// The chain written out by hand with the standard library.
	e := storetest.Ordinary(1)
	body, err := Encode(nil, e)
	if err != nil {
		t.Fatal(err)
	}
	want := sha256.Sum256(append(make([]byte, 32), body...))
	next := storetest.Ordinary(2)
	next.Scan.ID = storetest.UUID7(next.Arrived, 2)
	body2, err := Encode(nil, next)
	if err != nil {
		t.Fatal(err)
	}
	want = sha256.Sum256(append(want[:], body2...))
	for _, log := range []story.Log{sound(t, NewMem()), sound(t, openFile(t, t.TempDir()))} {
		if err := log.Append(0, []*traveler.Entry{e, next}, nil); err != nil {
			t.Fatal(err)
		}
		if _, got := log.Head(); got != want {
			t.Errorf("%T: link %x, want %x", log, got, want)
		}
	}
}

func FuzzDecode(f *testing.F) {
	for _, e := range []*traveler.Entry{
		storetest.Ordinary(9),
		{Seq: 1, Release: &traveler.Release{ID: "019abcde-f012-7345-8678-9abcdef01234", Part: "P",
			Pieces: 1}},
		{Seq: 7, Epoch: "5eed", Say: traveler.Msg{Key: "epoch.restored"}},
		{Seq: 1, Change: &traveler.Change{
			Routes: []traveler.Route{{Part: "P", Operations: []traveler.Operation{{Number: 10}}}}}},
	} {
		data, err := Encode(nil, e)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte(`{"a":9223372036854775807,"t":-9223372036854775808,"i":"AZq83vASc0WGeJq83vASNA","h":-1,"y":-1}`))
	f.Add([]byte(`{"re":{},"ch":{}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := decode(7, data)
		if err != nil {
			return
		}
		// What can be read can be written, and reads the same.
		again, err := Encode(nil, e)
		if err != nil {
			t.Fatalf("%s cannot be written: %v", data, err)
		}
		back, err := decode(7, again)
		if err != nil {
			t.Fatalf("%s became %s: %v", data, again, err)
		}
		if !reflect.DeepEqual(e, back) {
			t.Fatalf("%s became %s", data, again)
		}
	})
}

// TestEpochInBytes holds the form of an entry that begins an epoch, and of one
// that names it beside a scan, as files have them.
func TestEpochInBytes(t *testing.T) {
	for text, e := range map[string]*traveler.Entry{
		`{"a":1795860000000,"b":"restore","r":"a","sk":"epoch.restored","sa":["c.db","9"],"ep":"00ff00ff00ff00ff"}`: {
			Seq: 10, Arrived: fromMS(1795860000000), By: Restorer, Epoch: "00ff00ff00ff00ff",
			Say: traveler.Msg{Key: "epoch.restored", Args: []string{"c.db", "9"}},
		},
		`{"a":1795860000000,"b":"x","ch":{},"ep":"0a"}`: {
			Seq: 1, Arrived: fromMS(1795860000000),
			By: traveler.Actor{Name: "x", Role: traveler.RoleOperator}, Change: &traveler.Change{},
			Epoch: "0a",
		},
	} {
		got, err := Encode(nil, e)
		if err != nil || string(got) != text {
			t.Errorf("%s, %v\nwant %s", got, err, text)
		}
		back, err := decode(e.Seq, []byte(text))
		if err != nil || !reflect.DeepEqual(back, e) {
			t.Errorf("%+v, %v", back, err)
		}
	}
}
