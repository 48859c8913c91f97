package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"time"
)

// tally counts steps.
type tally struct {
	passed, failed int
}

// exitStatus is 0 only if something ran and nothing failed.
func (t tally) exitStatus() int {
	if t.failed > 0 || t.passed == 0 {
		return 1
	}
	return 0
}

// String is the closing line. It stands alone on its line, without colour or
// decoration, because machines look for it.
func (t tally) String() string {
	return fmt.Sprintf("%d passed, %d failed", t.passed, t.failed)
}

// runSteps runs all steps, also after a failure, so that one call shows
// everything there is to mend.
func runSteps(ctx context.Context, p *project, steps []step, out io.Writer) tally {
	var t tally
	began := time.Now()
	for _, s := range steps {
		if runStep(ctx, p, s, out) {
			t.passed++
		} else {
			t.failed++
		}
	}
	fmt.Fprintf(out, "all      %s\n", seconds(time.Since(began)))
	return t
}

// closing is what the call ends with: what it did not run, then the tally.
func closing(table []step, opts options, t tally) string {
	if left := notRun(table, opts); left != "" {
		return fmt.Sprintf("not run:\n  %s\n%s\n", left, t)
	}
	return t.String() + "\n"
}

// runStep runs one step and reports whether it passed.
func runStep(ctx context.Context, p *project, s step, out io.Writer) bool {
	var said bytes.Buffer
	var w io.Writer = &said
	if s.live {
		w = out
	}
	began := time.Now()
	err := s.run(ctx, p, w)
	if ctx.Err() != nil {
		err = fmt.Errorf("interrupted: %w", ctx.Err())
	}
	took := seconds(time.Since(began))
	if err == nil {
		fmt.Fprintf(out, "%-8s %s  passed\n", s.name, took)
		return true
	}
	fmt.Fprintf(out, "%-8s %s  FAILED: %v\n", s.name, took, err)
	if text := bytes.TrimRight(said.Bytes(), "\n"); len(text) > 0 {
		fmt.Fprintf(out, "%s\n\n", text)
	}
	return false
}

func seconds(d time.Duration) string {
	return fmt.Sprintf("%7.1f s", d.Seconds())
}
