package store

import (
	"encoding/binary"
	"errors"
	"math/bits"

	"tallywalk/traveler/story"
)

// errShort is a row that ends too early.
var errShort = errors.New("the row is cut short")

// rowCodec carries fields to a row, or back from it.
type rowCodec struct {
	b       []byte
	reading bool
	err     error
	base    int64             // of times, unix milliseconds
	words   map[string]string // texts seen, so that reading many rows does not make each again
	near    [256]string       // some of them, by what they are made of
	without story.FactParts   // left out of what is read
	lent    bool              // lists are read into those that are there
}

// skips reports whether a part is to be left out, which whoever reads passes over.
func (s *rowCodec) skips(part story.FactParts) bool { return s.reading && s.without&part != 0 }

// pass passes over whole numbers. The last byte of each is below 0x80; they are
// counted by eight, as long as all of the eight are passed over.
func (s *rowCodec) pass(numbers int) {
	for len(s.b) >= 8 {
		ends := bits.OnesCount64(^binary.LittleEndian.Uint64(s.b) & 0x8080808080808080)
		if ends >= numbers {
			break
		}
		numbers -= ends
		s.b = s.b[8:]
	}
	for i, c := range s.b {
		if c >= 0x80 {
			continue
		}
		if numbers--; numbers == 0 {
			s.b = s.b[i+1:]
			return
		}
	}
	if numbers > 0 {
		s.b, s.err = nil, errShort
	}
}

// passBytes passes over so many bytes.
func (s *rowCodec) passBytes(n int) {
	if n < 0 || n > len(s.b) {
		s.b, s.err = nil, errShort
		return
	}
	s.b = s.b[n:]
}

// passList passes over a list of which each item is so many texts, then so many
// whole numbers.
func (s *rowCodec) passList(texts, numbers int) {
	n := 0
	for integer(s, &n); n > 0 && s.err == nil; n-- {
		for range texts {
			s.raw()
		}
		s.pass(numbers)
	}
}

// integer carries a whole number.
func integer[T ~int | ~int64](s *rowCodec, v *T) {
	if !s.reading {
		s.b = binary.AppendVarint(s.b, int64(*v))
		return
	}
	if n, size := small(s.b); size > 0 {
		s.b, *v = s.b[size:], T(n)
		return
	}
	n, size := binary.Varint(s.b)
	if size <= 0 {
		s.b, s.err = nil, errShort
		*v = 0
		return
	}
	s.b = s.b[size:]
	*v = T(n)
}

// small reads a number that takes one byte or two, as nearly all do. More must be
// read another way: then size is 0.
func small(b []byte) (n int64, size int) {
	switch {
	case len(b) > 0 && b[0] < 0x80:
		n, size = int64(b[0]), 1
	case len(b) > 1 && b[1] < 0x80:
		n, size = int64(b[0]&0x7f)|int64(b[1])<<7, 2
	}
	return n>>1 ^ -(n & 1), size
}

// integers carries several whole numbers; scale is what one of them stands for.
func integers[T ~int | ~int64](s *rowCodec, scale T, list ...*T) {
	if !s.reading {
		for _, v := range list {
			s.b = binary.AppendVarint(s.b, int64(*v/scale))
		}
		return
	}
	b := s.b
	for _, v := range list {
		n, size := small(b)
		if size == 0 {
			if n, size = binary.Varint(b); size <= 0 {
				s.b, s.err = nil, errShort
				return
			}
		}
		b, *v = b[size:], T(n)*scale
	}
	s.b = b
}

// text carries a text that comes again in other rows; own one that does not.
func text[T ~string](s *rowCodec, v *T) {
	if s.reading {
		*v = T(s.word(s.raw()))
		return
	}
	s.write(string(*v))
}

func own[T ~string](s *rowCodec, v *T) {
	if s.reading {
		*v = T(s.raw())
		return
	}
	s.write(string(*v))
}

func (s *rowCodec) write(text string) {
	s.b = append(binary.AppendVarint(s.b, int64(len(text))), text...)
}

// raw gives the bytes of a text that is to be read.
func (s *rowCodec) raw() (raw []byte) {
	n, size := small(s.b)
	if size == 0 {
		n, size = binary.Varint(s.b)
	}
	if size <= 0 || n < 0 || n > int64(len(s.b)-size) {
		s.b, s.err = nil, errShort
		return nil
	}
	raw, s.b = s.b[size:size+int(n)], s.b[size+int(n):]
	return raw
}

// word is the text of some bytes: one that was seen before, if it was. The same
// few come again and again, and lie near.
func (s *rowCodec) word(raw []byte) string {
	if len(raw) == 0 {
		return ""
	}
	near := &s.near[(len(raw)+3*int(raw[0])+5*int(raw[len(raw)/2])+11*int(raw[len(raw)-1]))%len(s.near)]
	if *near == string(raw) {
		return *near
	}
	w, ok := s.words[string(raw)]
	if !ok {
		w = string(raw)
		s.words[w] = w
	}
	*near = w
	return w
}

// list carries a list; each carries one of it.
func list[T any](s *rowCodec, v *[]T, each func(*rowCodec, *T)) {
	n := len(*v)
	integer(s, &n)
	if s.reading {
		if n < 0 || n > len(s.b) { // each item takes at least a byte
			s.b, s.err = nil, errShort
			n = 0
		}
		switch {
		case s.lent && n <= cap(*v):
			*v = (*v)[:n]
		case n == 0:
			*v = nil
		default:
			*v = make([]T, n)
		}
	}
	for i := range *v {
		each(s, &(*v)[i])
	}
}
