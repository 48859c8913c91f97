package calendar

import (
	"cmp"
	"slices"
	"sort"
	"time"
)

// Open time is kept in chunks of 2^25 seconds, about 388 days, each worked out
// when it is first asked for and never changed.
const (
	chunkBits  = 25
	chunkSize  = 1 << chunkBits
	chunkCount = 217
	known      = 7_258_118_400 // 1 January 2200
)

// chunk is the open stretches of its time, in order, none touching the next.
type chunk struct {
	open  []stretch
	total time.Duration
}

// stretch is open time, in seconds since the beginning of its chunk.
type stretch struct {
	from, to int32
	before   int32 // open seconds of the chunk before this stretch
}

// newChunk sorts and joins stretches.
func newChunk(open []stretch) *chunk {
	slices.SortFunc(open, func(a, b stretch) int { return cmp.Compare(a.from, b.from) })
	joined := open[:0]
	for _, s := range open {
		if last := len(joined) - 1; last >= 0 && s.from <= joined[last].to {
			joined[last].to = max(joined[last].to, s.to)
			continue
		}
		joined = append(joined, s)
	}
	total := int32(0)
	for i := range joined {
		joined[i].before = total
		total += joined[i].to - joined[i].from
	}
	return &chunk{slices.Clip(slices.Clone(joined)), seconds(total)}
}

func seconds(n int32) time.Duration { return time.Duration(n) * time.Second }

// chunk works out chunk i of a calendar.
func (r *rules) chunk(i int) *chunk {
	start := int64(i) << chunkBits
	end := min(start+chunkSize, known)
	var open []stretch
	r.each(start, end, func(c clock, midnight int64, s *shift) {
		s.work(c, midnight, func(from, to int64) {
			from, to = max(from, start), min(to, end)
			if from < to {
				open = append(open, stretch{from: int32(from - start), to: int32(to - start)})
			}
		})
	})
	return newChunk(open)
}

// chunk is chunk i, from memory when someone asked before. Two who ask first
// at once both work it out, to the same result.
func (h *Hours) chunk(i int) *chunk {
	if c := h.chunks[i].Load(); c != nil {
		return c
	}
	var c *chunk
	if h.rules != nil {
		c = h.rules.chunk(i)
	} else {
		var open []stretch
		for _, p := range h.parts {
			open = append(open, p.chunk(i).open...)
		}
		c = newChunk(open)
	}
	h.chunks[i].Store(c)
	return c
}

// place finds the chunk of a moment and how far into it the moment is. Moments
// outside what is known lie at its ends.
func place(t time.Time) (int, time.Duration) {
	s := t.Unix()
	switch {
	case s < 0:
		return 0, 0
	case s >= known:
		return chunkCount - 1, chunkSize * time.Second
	}
	return int(s >> chunkBits), time.Duration(s&(chunkSize-1))*time.Second + time.Duration(t.Nanosecond())
}

// last is the last stretch that begins at a moment of the chunk or before.
func (c *chunk) last(into time.Duration) (*stretch, bool) {
	s := int32(into / time.Second)
	i := sort.Search(len(c.open), func(i int) bool { return c.open[i].from > s }) - 1
	if i < 0 {
		return nil, false
	}
	return &c.open[i], true
}

// before is the open time of the chunk before a moment in it.
func (c *chunk) before(into time.Duration) time.Duration {
	last, ok := c.last(into)
	if !ok {
		return 0
	}
	return seconds(last.before) + min(into-seconds(last.from), seconds(last.to-last.from))
}

// reach is how far into the chunk an open time, at most its total, is used up.
func (c *chunk) reach(d time.Duration) time.Duration {
	i := sort.Search(len(c.open), func(i int) bool {
		s := &c.open[i]
		return seconds(s.before+s.to-s.from) >= d
	})
	s := &c.open[i]
	return seconds(s.from) + d - seconds(s.before)
}
