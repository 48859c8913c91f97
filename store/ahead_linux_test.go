package store

import (
	"encoding/binary"
	"fmt"
	"os"
	"slices"
	"testing"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler/story"
)

// The pages that the kernel is advised of hold all rows of a range, and hardly any
// others: what is in them is read here from the file itself.
func TestPagesAheadHoldTheRange(t *testing.T) {
	f := openFile(t, t.TempDir())
	var keys []string
	for i := range 9000 {
		keys = append(keys, fmt.Sprintf("P%03d/%05d", i%90, i))
	}
	for rows := range slices.Chunk(keys, 300) {
		var list []story.Row
		for _, k := range rows {
			list = append(list, story.Row{Bucket: LedgerFacts, Key: k, Value: make([]byte, 150)})
		}
		if err := f.Append(0, nil, list); err != nil {
			t.Fatal(err)
		}
	}
	slices.Sort(keys)
	file, err := os.Open(f.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = file.Close() }()
	for _, x := range []struct{ from, to string }{
		{"", "\xff"}, {"", "P"}, {"P010/", "P011/"}, {"P010/04000", "P010/04001"}, {"P033/", "P060/"},
		{"P089/08000", "Q"}, {"Q", "R"},
	} {
		a := f.leaves(&pagesAhead{file: file, from: x.from, to: x.to}, LedgerFacts)
		got := map[string]bool{}
		most := 0
		for _, page := range a.pages {
			held := keysIn(a, page)
			most = max(most, len(held))
			for _, k := range held {
				got[k] = true
			}
		}
		in := 0
		for _, k := range keys {
			if k >= x.from && k < x.to {
				if in++; !got[k] {
					t.Fatalf("from %q to %q: %q is on no page of %d", x.from, x.to, k, len(a.pages))
				}
			}
		}
		if len(got) > in+2*most {
			t.Errorf("from %q to %q lie %d rows; the pages hold %d", x.from, x.to, in, len(got))
		}
	}
	pages := 0
	if err := f.view("read", func(tx *bolt.Tx) error {
		pages = tx.Bucket(bucketLedger).Bucket([]byte(LedgerFacts)).Stats().LeafPageN
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if a := f.leaves(&pagesAhead{file: file, to: "\xff"}, LedgerFacts); len(a.pages) != pages || pages < 300 {
		t.Errorf("%d pages of %d", len(a.pages), pages)
	}
	f.willNeed("none", "", "\xff") // there is no such bucket
}

// keysIn reads the keys of a leaf: its elements are flags, place, length of the
// key, length of the value.
func keysIn(a *pagesAhead, page uint64) (out []string) {
	b := a.read(page, a.size)
	for i := range int(binary.NativeEndian.Uint16(b[10:])) {
		at := pageHead + 16*i
		from := at + int(binary.NativeEndian.Uint32(b[at+4:]))
		out = append(out, string(b[from:from+int(binary.NativeEndian.Uint32(b[at+8:]))]))
	}
	return out
}
