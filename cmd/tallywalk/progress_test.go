package main

import (
	"context"
	"errors"
	"strings"
	"testing"

	"tallywalk/traveler"
)

// TestProgressStaysApart checks that how far a command is goes to the other writer, each
// line over the one before on a terminal, whatever pieces it comes in.
func TestProgressStaysApart(t *testing.T) {
	t.Parallel()
	for _, terminal := range []bool{false, true} {
		var out, errOut strings.Builder
		w := &progressWriter{out: &out, err: &errOut, terminal: terminal}
		p := &progress{out: w, end: 2000}
		p.say("Record", 1000, 500)
		p.say("Record", 1500, 500)
		for _, c := range "All is well.\nThe rest" {
			if _, err := w.Write([]byte(string(c))); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.close(); err != nil {
			t.Fatal(err)
		}
		if out.String() != "All is well.\nThe rest" {
			t.Errorf("printed %q", out.String())
		}
		want := "Record: 1,000 of 2,000 entries, 500 a second\nRecord: 1,500 of 2,000 entries, 500 a second\n"
		if terminal {
			want = strings.ReplaceAll(want, "\n", "\r\x1b[K")
		}
		if errOut.String() != want {
			t.Errorf("terminal %v: said %q", terminal, errOut.String())
		}
	}
}

// TestProgressEnds checks that a walk ends when nobody waits for it any more, also while a
// server rests between two parts.
func TestProgressEnds(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	p := &progress{ctx: ctx, yield: true, out: &strings.Builder{}, end: 2}
	step := p.phase("Record")
	if err := step(traveler.Seq(1)); err != nil {
		t.Fatal(err)
	}
	cancel()
	if err := step(traveler.Seq(2)); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
