package store

import (
	"errors"
	"testing"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
)

func settings(tx *bolt.Tx) *bolt.Bucket { return tx.Bucket(bucketTables).Bucket([]byte("settings")) }

// A row of a table that was changed, exchanged or removed by anything but this program is
// found, and so is a row that cannot be found by its key any more.
func TestVerifyTables(t *testing.T) {
	put := func(pairs ...string) func(tx *bolt.Tx) error {
		return func(tx *bolt.Tx) (err error) {
			for i := 0; i < len(pairs); i += 2 {
				err = errors.Join(err, settings(tx).Put([]byte(pairs[i]), []byte(pairs[i+1])))
			}
			return err
		}
	}
	for name, c := range map[string]struct {
		edit func(tx *bolt.Tx) error
		key  string
	}{
		"whole":     {put(), ""},
		"changed":   {put("b", "3"), "store.verify.table.changed"},
		"exchanged": {put("a", "2", "b", "1"), "store.verify.table.changed"},
		"more":      {put("c", "3"), "store.verify.table.changed"},
		"gone": {func(tx *bolt.Tx) error { return settings(tx).Delete([]byte("b")) },
			"store.verify.table.missing"},
		"all gone": {func(tx *bolt.Tx) error {
			return tx.Bucket(bucketTables).DeleteBucket([]byte("settings"))
		},
			"store.verify.table.missing"},
		"no sums": {func(tx *bolt.Tx) error { return tx.DeleteBucket(bucketSums) }, "store.damaged"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filled(t, 100)
			f := openFile(t, dir)
			for i, key := range []string{"a", "b", "old"} {
				if err := f.Tables().Put("settings", key, []byte{byte('1' + i)}); err != nil {
					t.Fatal(err)
				}
			}
			if err := errors.Join(f.Tables().Delete("settings", "old"), f.Close()); err != nil {
				t.Fatal(err)
			}
			edit(t, dir, c.edit)
			_, err := Verify(openFile(t, dir))
			var e *traveler.Error
			said := errors.As(err, &e)
			if said != (c.key != "") || said && (e.Kind != traveler.KindCorrupt || e.Say.Key != c.key) {
				t.Errorf("%v, want %s", err, c.key)
			}
		})
	}
}

// A file of an older format has no sums; its rows get them when one is changed first.
func TestOlderFileGetsSums(t *testing.T) {
	dir := filled(t, 100)
	edit(t, dir, func(tx *bolt.Tx) error {
		b, err := tx.Bucket(bucketTables).CreateBucket([]byte("settings"))
		return errors.Join(err, b.Put([]byte("a"), []byte("1")))
	})
	verify := func(change func(f *File) error) error {
		f := openFile(t, dir)
		_, err := Verify(f)
		return errors.Join(err, change(f), f.Close())
	}
	first := func(f *File) error { return f.Tables().Put("accounts", "b", []byte("2")) }
	nothing := func(*File) error { return nil }
	for i, change := range []func(f *File) error{first, nothing} {
		if err := verify(change); err != nil {
			t.Fatalf("%d: %v", i, err)
		}
	}
	edit(t, dir, func(tx *bolt.Tx) error { return settings(tx).Put([]byte("a"), []byte("2")) })
	if err := verify(nothing); traveler.KindOf(err) != traveler.KindCorrupt {
		t.Errorf("a row that was there before is changed, and verify says %v", err)
	}
}
