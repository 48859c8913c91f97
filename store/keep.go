package store

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"time"

	"tallywalk/traveler"
)

// Keep is the rule by which copies are kept: of each of so many past hours, days, weeks
// and months that have a copy, the newest one. The newest of all is always kept.
type Keep struct{ Hours, Days, Weeks, Months int }

// Kept says which copies the rule keeps; at is when they were made, in any order, and
// zone is where days begin. Hours are counted in it too.
func (k Keep) Kept(at []time.Time, zone *time.Location) []bool {
	keep := make([]bool, len(at))
	order := make([]int, len(at))
	for i := range at {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return at[b].Compare(at[a]) })
	for _, p := range []struct {
		n    int
		name func(time.Time) any
	}{
		{1, func(time.Time) any { return nil }},
		{k.Hours, func(t time.Time) any { return [4]int{t.Year(), int(t.Month()), t.Day(), t.Hour()} }},
		{k.Days, func(t time.Time) any { return [3]int{t.Year(), int(t.Month()), t.Day()} }},
		{k.Weeks, func(t time.Time) any { y, w := t.ISOWeek(); return [2]int{y, w} }},
		{k.Months, func(t time.Time) any { return [2]int{t.Year(), int(t.Month())} }},
	} {
		seen := map[any]bool{}
		for _, i := range order {
			if name := p.name(at[i].In(zone)); !seen[name] && len(seen) < p.n {
				seen[name], keep[i] = true, true
			}
		}
	}
	return keep
}

// CopyFile is a copy in a folder, by what its name says. It was whole when it was given
// its name.
type CopyFile struct {
	Path  string
	At    time.Time
	Seq   traveler.Seq
	Bytes int64
}

var copyName = regexp.MustCompile(`^tallywalk-(\d{8}T\d{6}Z)-(\d+)\.db$`)

// Copies lists the copies in a folder, the newest first. The error is of KindNotFound
// when there is no such folder.
func Copies(dir string) ([]CopyFile, error) {
	names, err := os.ReadDir(dir)
	if err != nil {
		return nil, traveler.Fail(traveler.KindNotFound, "store.backup.folder", dir)
	}
	var out []CopyFile
	for _, d := range names {
		m := copyName.FindStringSubmatch(d.Name())
		info, err := d.Info()
		if m == nil || err != nil || !info.Mode().IsRegular() {
			continue
		}
		at, terr := time.Parse("20060102T150405Z", m[1])
		seq, serr := strconv.ParseUint(m[2], 10, 64)
		if errors.Join(terr, serr) == nil {
			out = append(out, CopyFile{filepath.Join(dir, d.Name()), at, traveler.Seq(seq), info.Size()})
		}
	}
	slices.SortFunc(out, func(a, b CopyFile) int {
		if c := b.At.Compare(a.At); c != 0 {
			return c
		}
		return int(b.Seq) - int(a.Seq)
	})
	return out, nil
}

// Prune removes from a folder the copies of this record that a rule does not keep, and
// gives what is left of all, the newest first. Copies of other records, or of an end of
// this one that was lost, files that cannot be read as a copy, and what says that it was
// made after now, are nobody's to remove. The error is of KindNotFound when there is no
// such folder, else one of the disk.
func (f *File) Prune(dir string, k Keep, now time.Time, zone *time.Location) ([]CopyFile, error) {
	all, err := Copies(dir)
	if err != nil {
		return nil, err
	}
	var ours []CopyFile
	left := all[:0:0]
	for _, c := range all {
		if !c.At.After(now) && f.IsCopy(c.Path) {
			ours = append(ours, c)
		} else {
			left = append(left, c)
		}
	}
	at := make([]time.Time, len(ours))
	for i, c := range ours {
		at[i] = c.At
	}
	for i, keep := range k.Kept(at, zone) {
		if keep {
			left = append(left, ours[i])
			continue
		}
		if rerr := os.Remove(ours[i].Path); rerr != nil {
			left, err = append(left, ours[i]), errors.Join(err, rerr)
		}
	}
	slices.SortFunc(left, func(a, b CopyFile) int { return b.At.Compare(a.At) })
	return left, (&File{path: dir}).fault("remove old copies", err)
}

// IsCopy reports whether a file is a copy of this record: the record has, where the copy
// ends, what the copy has there.
func (f *File) IsCopy(path string) bool {
	c, err := OpenCopy(path)
	if err != nil {
		return false
	}
	defer func() { _ = c.Close() }()
	end, link := c.Head()
	if end == 0 {
		return false
	}
	ours, err := headAt(f, end)
	return err == nil && ours.link == link
}

// partOld is how old what was left of a copy must be to be removed: nobody writes it any
// more.
const partOld = 24 * time.Hour

// Sweep removes what copies that were cut off left in a folder. The error is one of the
// disk.
func Sweep(dir string, now time.Time) (err error) {
	left, _ := filepath.Glob(filepath.Join(dir, ".tallywalk-*.part")) // the pattern is well formed
	for _, name := range left {
		if info, serr := os.Stat(name); serr == nil && now.Sub(info.ModTime()) > partOld {
			err = errors.Join(err, os.Remove(name))
		}
	}
	return err
}

// Bytes is the size of the file.
func (f *File) Bytes() int64 {
	info, err := os.Stat(f.path)
	if err != nil {
		return 0
	}
	return info.Size()
}
