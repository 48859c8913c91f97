package store

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tallywalk/traveler"
)

// Copies of each hour of a hundred days: common practice, no source. What is kept is
// said here again in the words of the rule, one kept copy after the other.
func TestKeepRule(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	end := time.Date(2026, 11, 25, 9, 30, 0, 0, zone)
	var at []time.Time
	for i := range 100 * 24 {
		at = append(at, end.Add(-time.Duration(i)*time.Hour)) // the newest first
	}
	k := Keep{Hours: 5, Days: 4, Weeks: 3, Months: 3}
	kept := map[string]bool{}
	for i, keep := range k.Kept(at, zone) {
		if keep {
			kept[at[i].Format("2006-01-02 15:04")] = true
		}
	}
	want := []string{
		"2026-11-25 09:30", "2026-11-25 08:30", "2026-11-25 07:30", "2026-11-25 06:30", "2026-11-25 05:30", // hours
		"2026-11-24 23:30", "2026-11-23 23:30", "2026-11-22 23:30", // days, and the week before, which ends on a Sunday
		"2026-11-15 23:30",                     // the week before that
		"2026-10-31 23:30", "2026-09-30 23:30", // months
	}
	for _, w := range want {
		if !kept[w] {
			t.Errorf("%s is not kept", w)
		}
	}
	if len(kept) != len(want) {
		t.Errorf("%d are kept, %d by the rule: %v", len(kept), len(want), kept)
	}
	if one := (Keep{}).Kept(at, zone); !one[0] || one[1] {
		t.Error("a rule that keeps nothing keeps the newest, and no other")
	}
}

// Old copies of this record go; another record's, and what is no copy, stay.
func TestPruneLeavesWhatIsNotOurs(t *testing.T) {
	to := t.TempDir()
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	copied := func(dir string, hours int) string {
		f, err := Open(dir, Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Close() }()
		c, err := f.Backup(t.Context(), to, now.Add(time.Duration(hours)*time.Hour),
			func(int) error { return nil })
		if err != nil {
			t.Fatal(err)
		}
		return c.Path
	}
	ours, other := filled(t, 3), filled(t, 0)
	begun, err := Open(other, Options{})
	if err != nil {
		t.Fatal(err)
	}
	e := &traveler.Entry{Seq: 1, Arrived: now, By: Restorer, Epoch: begun.Epoch(), Change: &traveler.Change{}}
	if err := errors.Join(begun.Append(0, []*traveler.Entry{e}, nil), begun.Close()); err != nil {
		t.Fatal(err)
	}
	old, newest, foreign := copied(ours, 0), copied(ours, 2), copied(other, 1)
	letter := filepath.Join(to, "tallywalk-20261125T083000Z-7.db")
	if err := os.WriteFile(letter, []byte("a letter"), 0o600); err != nil {
		t.Fatal(err)
	}
	ahead := copied(ours, 9)
	// An end of this record that was lost with its disk, and another one in its place.
	lost := lineOf(t, ours, 2, copied)
	f, err := Open(ours, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	left, err := f.Prune(to, Keep{}, now.Add(3*time.Hour), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if len(left) != 5 || left[0].Path != ahead || left[0].Seq == 0 || left[0].Bytes == 0 {
		t.Errorf("left are %+v", left)
	}
	for path, there := range map[string]bool{old: false, newest: true, foreign: true, letter: true,
		ahead: true, lost: true} {
		if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) == there {
			t.Errorf("%s is there: %t, want %t", filepath.Base(path), !there, there)
		}
	}
}

// lineOf makes a copy, at an hour, of a record that goes on from where one in a folder
// ends, and that nobody has any more.
func lineOf(t *testing.T, dir string, hour int, copied func(dir string, hours int) string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, FileName))
	if err != nil {
		t.Fatal(err)
	}
	other := t.TempDir()
	if err := os.WriteFile(filepath.Join(other, FileName), data, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Open(other, Options{})
	if err != nil {
		t.Fatal(err)
	}
	more(t, f, 5)
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return copied(other, hour)
}

// A record is not written on a network share; a copy there is read.
func TestNoRecordOnAShare(t *testing.T) {
	dir := filled(t, 3)
	kindOfShare = func(string) string { return "NFS" }
	defer func() { kindOfShare = shareOf }()
	if _, err := Open(dir, Options{}); traveler.KindOf(err) != traveler.KindConflict {
		t.Errorf("it opened on a share: %v", err)
	}
	c, err := OpenCopy(filepath.Join(dir, FileName))
	if err != nil {
		t.Fatalf("a copy on a share: %v", err)
	}
	if err := c.Close(); err != nil {
		t.Error(err)
	}
	if got := shareOf(dir); got != "" {
		t.Errorf("the folder of the tests lies on %s?", got)
	}
}
