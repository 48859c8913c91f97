package store

import (
	"encoding/binary"
	"os"
	"slices"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/sys/unix"
)

// The file is mapped, and advised to be read at random: what is not in memory comes
// page by page, each of them waited for, and whoever waits holds a core. A range
// of the ledger lies all over the file. So before a range is read the kernel is
// advised which pages it will take: they come together, in the order in which they
// lie. It is advice: whatever goes wrong here, the range is read all the same.

// A page of the file, as bbolt lays it out (its format 2): number, kind, count,
// and how many pages more belong to it; a branch's elements say where their key
// lies, counted from the element, how long it is, and the page below.
const (
	pageHead    = 16
	pageElement = 16
	pageBranch  = 0x01
)

const (
	aheadLevels = 12      // no tree of pages is deeper
	aheadPages  = 1 << 18 // pages that are asked for at a time, at most
	aheadGap    = 4       // so many others between two are read along
)

// willNeed advises the kernel which pages of a bucket of the ledger will be read.
func (f *File) willNeed(bucket, from, to string) {
	file, err := os.Open(f.path)
	if err != nil {
		return
	}
	defer func() { _ = file.Close() }()
	f.leaves(&pagesAhead{file: file, from: from, to: to}, bucket).ask()
}

// leaves finds the pages in which the rows of a range lie.
func (f *File) leaves(a *pagesAhead, bucket string) *pagesAhead {
	_ = f.view("read", func(tx *bolt.Tx) error {
		if b := tx.Bucket(bucketLedger).Bucket([]byte(bucket)); b != nil && b.Root() != 0 {
			a.size = tx.DB().Info().PageSize
			a.down(uint64(b.Root()))
		}
		return nil
	})
	return a
}

// pagesAhead looks for the pages of a range.
type pagesAhead struct {
	file     *os.File
	size     int
	from, to string
	pages    []uint64 // of the level at hand
}

// down goes from the root to the leaves.
func (a *pagesAhead) down(root uint64) {
	a.pages = []uint64{root}
	for range aheadLevels {
		if len(a.pages) == 0 || len(a.pages) > aheadPages || !a.branch(a.pages[0]) {
			return
		}
		a.ask()
		var below []uint64
		for _, page := range a.pages {
			below = a.children(below, page)
		}
		a.pages = below
	}
}

// branch reports whether a page has others below it.
func (a *pagesAhead) branch(page uint64) bool {
	head := a.read(page, pageHead)
	return head != nil && binary.NativeEndian.Uint16(head[8:]) == pageBranch
}

// read reads the beginning of a page.
func (a *pagesAhead) read(page uint64, n int) []byte {
	b := make([]byte, n)
	if _, err := a.file.ReadAt(b, int64(page)*int64(a.size)); err != nil {
		return nil
	}
	return b
}

// children adds the pages below a branch that the range touches.
func (a *pagesAhead) children(out []uint64, page uint64) []uint64 {
	head := a.read(page, pageHead)
	if head == nil {
		return out
	}
	count, more := int(binary.NativeEndian.Uint16(head[10:])), int(binary.NativeEndian.Uint32(head[12:]))
	if more > 64 {
		return out // no branch is as long
	}
	b := a.read(page, (1+more)*a.size)
	for i := range count {
		if first, ok := keyOf(b, i); !ok || i > 0 && a.to != "" && first >= a.to {
			break
		}
		if next, ok := keyOf(b, i+1); i+1 < count && ok && next <= a.from {
			continue
		}
		out = append(out, binary.NativeEndian.Uint64(b[pageHead+i*pageElement+8:]))
	}
	return out
}

// keyOf is the key of an element of a branch.
func keyOf(b []byte, i int) (key string, ok bool) {
	at := pageHead + i*pageElement
	if at+pageElement > len(b) {
		return "", false
	}
	from := at + int(binary.NativeEndian.Uint32(b[at:]))
	end := from + int(binary.NativeEndian.Uint32(b[at+4:]))
	if from < 0 || end < from || end > len(b) {
		return "", false
	}
	return string(b[from:end]), true
}

// ask advises the kernel of the pages at hand, in the order in which they lie.
func (a *pagesAhead) ask() {
	pages := slices.Sorted(slices.Values(a.pages[:min(aheadPages, len(a.pages))]))
	for i := 0; i < len(pages); {
		k := i + 1
		for k < len(pages) && pages[k]-pages[k-1] <= aheadGap {
			k++
		}
		length := int64(pages[k-1]-pages[i]+1) * int64(a.size)
		if unix.Fadvise(int(a.file.Fd()), int64(pages[i])*int64(a.size), length, unix.FADV_WILLNEED) != nil {
			return
		}
		i = k
	}
}
