package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
)

// scansAtOnce is how many scans are handed to the desk together.
const scansAtOnce = 500

// importScans takes scans that were exported. They are looked through first, so
// that a list with anything wrong in it changes nothing.
func (hs *house) importScans(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	file, drop, err := spooled(in)
	if err != nil {
		return err
	}
	defer drop()
	n, err := hs.lookThrough(req.File, file)
	if err != nil {
		return err
	}
	if req.DryRun {
		fmt.Fprintf(out, "%d scans would be imported, less those that are there already\n", n)
		return nil
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	t := taking{ctx: ctx, hs: hs}
	if err := intake.ReadScans(req.File, file, t.take); err != nil {
		return err
	}
	t.flush()
	if t.err != nil {
		return t.err
	}
	fmt.Fprintf(out, "%d scans imported, %d were there already\n", t.fresh, t.again)
	if t.asked > 0 {
		fmt.Fprintf(out, "%d of them are questions\n", t.asked)
	}
	if t.refused > 0 {
		fmt.Fprintf(out, "%d of them were refused, then or now, and are kept as that\n", t.refused)
	}
	if len(t.clash) > 0 {
		return fmt.Errorf("%s: %d scans have the id of something else and were left out: line %s", req.File,
			t.clashes, strings.Join(t.clash, ", "))
	}
	return nil
}

// spooled gives what comes in as a file that can be read twice.
func spooled(in io.Reader) (f *os.File, drop func(), err error) {
	if f, ok := in.(*os.File); ok {
		if st, err := f.Stat(); err == nil && st.Mode().IsRegular() {
			return f, func() {}, nil
		}
	}
	f, err = os.CreateTemp("", "tallywalk-import-*")
	if err != nil {
		return nil, nil, err
	}
	drop = func() { _, _ = f.Close(), os.Remove(f.Name()) }
	if _, err = io.Copy(f, in); err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		drop()
		return nil, nil, err
	}
	return f, drop, nil
}

// lookThrough counts the scans of a list, and names those whose batch or
// machine is not known.
func (hs *house) lookThrough(file string, in io.Reader) (n int, err error) {
	shop := hs.desk.Shop()
	known := map[traveler.Code]bool{"": true}
	var bad intake.Refused
	err = intake.ReadScans(file, in, func(k *intake.Kept) bool {
		n++
		t := &k.Taken
		if k.Scan.Action == traveler.ActSplit && t.Other != "" {
			known[t.Other] = true
		}
		if _, listed := known[t.Card]; !listed {
			known[t.Card] = len(hs.desk.FindCard(string(t.Card))) > 0
		}
		if !known[t.Card] {
			bad.Add(intake.Problem{File: file, Line: k.Line, Column: "batch", Value: string(t.Card),
				Reason: "is no batch that is known here; import the batches first"})
		}
		if _, ok := shop.FindMachine(string(t.Machine)); t.Machine != "" && !ok {
			bad.Add(intake.Problem{File: file, Line: k.Line, Column: "machine", Value: string(t.Machine),
				Reason: "is no machine that is known here; import the machines first"})
		}
		return true
	})
	var more *intake.Refused
	if errors.As(err, &more) {
		for _, p := range more.Problems {
			bad.Add(p)
		}
		bad.Total += more.Total - len(more.Problems)
		err = nil
	}
	return n, errors.Join(err, bad.Err())
}

// taking hands scans to the desk, some at a time.
type taking struct {
	ctx  context.Context
	hs   *house
	said []story.Said
	line []int
	err  error

	fresh, again, asked, refused, clashes int
	clash                                 []string // lines
}

func (t *taking) take(k *intake.Kept) bool {
	said := story.Said{By: traveler.Actor{Name: traveler.Importer, Role: k.Role}, Scan: k.Scan}
	if k.Taken.Outcome != "" {
		said.Taken = &k.Taken
	} else if k.Role == "" {
		said.By = importer
	}
	t.said, t.line = append(t.said, said), append(t.line, k.Line)
	if len(t.said) == scansAtOnce {
		t.flush()
	}
	return t.err == nil
}

func (t *taking) flush() {
	if len(t.said) == 0 || t.err != nil {
		return
	}
	answers, err := people.TakeScans(t.ctx, t.hs.desk, t.hs.tables, t.said)
	if err != nil {
		t.err = err
		return
	}
	for i := range answers {
		t.count(&answers[i], t.line[i])
	}
	t.said, t.line = t.said[:0], t.line[:0]
}

func (t *taking) count(a *story.Answer, line int) {
	switch {
	case a.Err != nil:
		if t.clashes++; t.clashes <= intake.Most {
			t.clash = append(t.clash, fmt.Sprint(line))
		}
		return
	case a.Again:
		t.again++
		return
	case a.Outcome == traveler.Questioned:
		t.asked++
	case a.Outcome == traveler.Refused:
		t.refused++
	}
	t.fresh++
}
