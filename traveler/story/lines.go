package story

import (
	"iter"
	"slices"
)

// linesChunk is how many lines lie together: most families have few.
const linesChunk = 32

// Lines is the scans of a family's record in the order things happened. It is
// kept in chunks, so that versions of a family share what they have in common.
type Lines struct {
	chunks []*[linesChunk]Line
	n      int
}

// Len is the number of lines.
func (l *Lines) Len() int { return l.n }

// At is the i-th line. It is for reading.
func (l *Lines) At(i int) *Line { return &l.chunks[i/linesChunk][i%linesChunk] }

// All yields the lines with their places, the earliest first.
func (l *Lines) All() iter.Seq2[int, *Line] {
	return func(yield func(int, *Line) bool) {
		for i := range l.n {
			if !yield(i, l.At(i)) {
				return
			}
		}
	}
}

// Backward yields the lines with their places, the latest first.
func (l *Lines) Backward() iter.Seq2[int, *Line] {
	return func(yield func(int, *Line) bool) {
		for i := l.n - 1; i >= 0; i-- {
			if !yield(i, l.At(i)) {
				return
			}
		}
	}
}

// add appends a line where it stands; see Family.clone for who may. Versions
// with fewer lines never look at its place.
func (l *Lines) add(x Line) {
	k := l.n / linesChunk
	if k == len(l.chunks) {
		l.chunks = append(l.chunks, new([linesChunk]Line))
	}
	l.chunks[k][l.n%linesChunk] = x
	l.n++
}

// unshared gives the same lines, to which others can be added without a trace in
// the receiver.
func (l *Lines) unshared() Lines {
	out := Lines{chunks: slices.Clone(l.chunks[:(l.n+linesChunk-1)/linesChunk]), n: l.n}
	if l.n%linesChunk > 0 {
		last := len(out.chunks) - 1
		own := *out.chunks[last]
		out.chunks[last] = &own
	}
	return out
}
