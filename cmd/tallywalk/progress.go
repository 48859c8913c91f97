package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"

	"tallywalk/traveler"
)

// How far a long command is goes to the same writer as what it prints, also through a
// server that does it, in lines that begin with a mark; progressWriter takes them apart.
const progressMark = 0x1e // the record separator of ASCII

// progressEvery is how often it is said how far a command is.
const progressEvery = 500 * time.Millisecond

// progress says how far a walk of the record is, and how fast.
type progress struct {
	ctx   context.Context
	out   io.Writer
	asked bool
	yield bool // a server does this beside its work
	end   traveler.Seq
}

func (hs *house) progress(ctx context.Context, req request, out io.Writer) *progress {
	end, _ := hs.log.Head()
	return &progress{ctx: ctx, out: out, asked: req.Progress, yield: hs.served != nil, end: end}
}

// phase begins a walk, and gives what is called during it. In a server that runs it
// rests as long as it works, so that whoever scans meanwhile finds a core.
func (p *progress) phase(name string) func(traveler.Seq) error {
	began := time.Now()
	worked, said := began, began
	return func(at traveler.Seq) error {
		if p.yield {
			rest := time.NewTimer(time.Since(worked))
			defer rest.Stop()
			select {
			case <-rest.C:
			case <-p.ctx.Done():
			}
		}
		worked = time.Now()
		if p.asked && worked.Sub(said) >= progressEvery {
			said = worked
			p.say(name, at, float64(at)/worked.Sub(began).Seconds())
		}
		return p.ctx.Err()
	}
}

func (p *progress) say(name string, at traveler.Seq, rate float64) {
	fmt.Fprintf(
		p.out, "%c%s: %s of %s entries, %s a second\n", progressMark, name, grouped(int(at)),
		grouped(int(p.end)), grouped(int(rate)),
	)
	if f, ok := p.out.(http.Flusher); ok {
		f.Flush()
	}
}

// progressWriter sends lines with a mark to err, and all others to out. On a terminal each
// takes the place of the one before.
type progressWriter struct {
	out, err io.Writer
	terminal bool
	line     []byte // begun, not ended
	shown    bool
}

// Write takes lines apart; it fails as the writers do.
func (w *progressWriter) Write(b []byte) (int, error) {
	w.line = append(w.line, b...)
	for {
		i := bytes.IndexByte(w.line, '\n')
		if i < 0 {
			return len(b), nil
		}
		line := w.line[:i+1]
		if err := w.put(line); err != nil {
			return 0, err
		}
		w.line = w.line[i+1:]
	}
}

func (w *progressWriter) put(line []byte) error {
	if len(line) == 0 {
		return nil
	}
	if line[0] != progressMark {
		w.wipe()
		_, err := w.out.Write(line)
		return err
	}
	if !w.terminal {
		_, err := w.err.Write(line[1:])
		return err
	}
	w.wipe()
	w.shown = true
	_, err := w.err.Write(line[1 : len(line)-1])
	return err
}

// wipe takes away what stands on the terminal's line.
func (w *progressWriter) wipe() {
	if w.shown {
		fmt.Fprint(w.err, "\r\x1b[K")
		w.shown = false
	}
}

// close writes what is left of a line.
func (w *progressWriter) close() error {
	w.wipe()
	return w.put(w.line)
}

// isTerminal reports whether someone watches what is written.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
