package intake

import (
	"fmt"
	"strings"
)

// Most is how many problems of a file are named.
const Most = 20

// Problem is one place in a file that cannot be right.
type Problem struct {
	File   string
	Line   int
	Column string // header name; empty when the whole line is meant
	Value  string
	Reason string
}

func (p Problem) String() string {
	s := fmt.Sprintf("%s:%d", p.File, p.Line)
	if p.Column != "" {
		s += fmt.Sprintf(": %s", p.Column)
	}
	if p.Value != "" || p.Column != "" {
		v := p.Value
		if r := []rune(v); len(r) > 60 {
			v = string(r[:60]) + "…"
		}
		s += fmt.Sprintf(" %q", v)
	}
	return s + ": " + p.Reason
}

// Refused is why a file was not taken: up to Most problems, and how many there
// are in all.
type Refused struct {
	Problems []Problem
	Total    int
}

// Add notes a problem.
func (r *Refused) Add(p Problem) {
	r.Total++
	if len(r.Problems) < Most {
		r.Problems = append(r.Problems, p)
	}
}

// Err is the refusal, or nil when nothing is wrong. It fails with itself, as a
// *Refused, when there is one.
func (r *Refused) Err() error {
	if r.Total == 0 {
		return nil
	}
	return r
}

// Error names each problem on a line of its own.
func (r *Refused) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "nothing was imported: %d problem", r.Total)
	if r.Total != 1 {
		b.WriteString("s")
	}
	for _, p := range r.Problems {
		b.WriteString("\n  " + p.String())
	}
	if more := r.Total - len(r.Problems); more > 0 {
		fmt.Fprintf(&b, "\n  and %d more", more)
	}
	return b.String()
}
