package ipp_test

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"tallywalk/labels"
	"tallywalk/labels/ipp"
	"tallywalk/labels/ipp/ipptest"
	"tallywalk/traveler/paper"
)

func card(t *testing.T) *paper.Document {
	t.Helper()
	var b bytes.Buffer
	err := labels.WriteCards(&b,
		[]labels.Card{{Code: "B7K3M9QXA", WorksOrder: "W-26-1187", Part: "VB-2041-03", Pieces: 52}},
		labels.A5, nil)
	if err != nil {
		t.Fatal(err)
	}
	return &paper.Document{Name: "Card B7K3M9QXA 1", By: "Ada", PDF: b.Bytes(), Wide: 148, High: 210}
}

func never(int) error { return nil }

// until asks how a job is until it is as wanted.
func until(t *testing.T, c *ipp.Client, at paper.Address, job int, name string,
	fine func(paper.Progress) bool) paper.Progress {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	every := time.NewTicker(20 * time.Millisecond)
	defer every.Stop()
	for ; ; <-every.C {
		p, err := c.Look(ctx, at, job, name)
		if err != nil {
			t.Fatalf("job %d: %v, last %+v", job, err, p)
		}
		if fine(p) {
			return p
		}
	}
}

func isDone(p paper.Progress) bool { return p.Stage == paper.StageDone }

// What the printer prints is the PDF, byte by byte, and it says so.
func TestPrintedAsItIs(t *testing.T) {
	t.Parallel()
	e := ipptest.Start(t, ipptest.Options{})
	c, at, d := &ipp.Client{}, paper.Address{URI: e.URI}, card(t)
	p, err := c.Ask(t.Context(), at)
	if err != nil || !slices.Contains(p.Formats, "application/pdf") || len(p.Media) != 2 || p.Stopped ||
		!p.Accepts || len(p.Troubles) > 0 {
		t.Fatalf("the printer says %+v, %v", p, err)
	}
	if p.Media[0] != (paper.Media{Name: "iso_a5_148x210mm", Wide: 148, High: 210}) ||
		!slices.Equal(p.Ready, p.Media) {
		t.Errorf("its paper is %+v, in it %+v", p.Media, p.Ready)
	}
	made := 0
	job, err := c.Send(t.Context(), at, d, func(id int) error { made = id; return nil })
	if err != nil || job == 0 || made != job {
		t.Fatalf("job %d, made %d: %v", job, made, err)
	}
	until(t, c, at, job, d.Name, isDone)
	if all := e.Printed(); len(all) != 1 || !bytes.Equal(all[0], d.PDF) {
		t.Errorf("%d documents came out, or another than the PDF", len(all))
	}
	if found, err := c.Find(t.Context(), at, d.Name); err != nil || found != job {
		t.Errorf("found by its name: %d, %v; want %d", found, err, job)
	}
	if found, err := c.Find(t.Context(), at, "another"); err != nil || found != 0 {
		t.Errorf("another name is found as %d, %v", found, err)
	}
	if err := c.Cancel(t.Context(), at, job); !isRefused(err, paper.TroubleRefused) {
		t.Errorf("a job that is over is taken back: %v", err)
	}
}

func isRefused(err error, why paper.Trouble) bool {
	r := (*paper.Refusal)(nil)
	return errors.As(err, &r) && r.Trouble == why
}

// A document goes only where its format and its paper are taken; the printer says the
// same where the client does not ask first.
func TestFormatAndPaperAreRefused(t *testing.T) {
	t.Parallel()
	a4 := ipptest.Start(t, ipptest.Options{Media: "iso_a4_210x297mm"})
	raster := ipptest.Start(t, ipptest.Options{Format: "image/pwg-raster"})
	c, d := &ipp.Client{}, card(t)
	if _, err := c.Send(t.Context(), paper.Address{URI: a4.URI}, d, never); !isRefused(err,
		paper.TroubleMedia) {
		t.Errorf("A5 for a printer of A4: %v", err)
	}
	if _, err := c.Send(t.Context(), paper.Address{URI: raster.URI}, d, never); !isRefused(err,
		paper.TroubleFormat) {
		t.Errorf("PDF for a printer that takes none: %v", err)
	}
	err := ipp.Validate(t.Context(), c, paper.Address{URI: a4.URI}, "iso_a5_148x210mm")
	if r := (*paper.Refusal)(nil); !errors.As(err, &r) || r.Code != 0x040b ||
		r.Trouble != paper.TroubleMedia {
		t.Errorf("the printer is asked for A5 itself: %v", err) // RFC 8011, client-error-attributes-or-values-not-supported
	}
	if a4.Spooled()+raster.Spooled() != 0 {
		t.Error("something was sent all the same")
	}
}

// outOfPaper is a printer with a job that waits for paper.
func outOfPaper(t *testing.T) (e *ipptest.Eve, c *ipp.Client, at paper.Address, d *paper.Document, job int) {
	t.Helper()
	e = ipptest.Start(t, ipptest.Options{})
	c, at, d = &ipp.Client{}, paper.Address{URI: e.URI}, card(t)
	e.Set("out")
	job, err := c.Send(t.Context(), at, d, never)
	if err != nil {
		t.Fatal(err)
	}
	until(t, c, at, job, d.Name, func(p paper.Progress) bool {
		return p.Stage == paper.StagePrinting &&
			slices.Equal(p.Troubles, []paper.Trouble{paper.TroublePaperOut})
	})
	return e, c, at, d, job
}

// Out of paper is said while the job waits, and it goes on when there is some.
func TestPaperOut(t *testing.T) {
	t.Parallel()
	e, c, at, d, job := outOfPaper(t)
	e.Clear("out")
	if p := until(t, c, at, job, d.Name, isDone); len(p.Troubles) > 0 {
		t.Errorf("printed, and %v", p.Troubles)
	}
}

func TestJam(t *testing.T) {
	t.Parallel()
	e := ipptest.Start(t, ipptest.Options{})
	c, at, d := &ipp.Client{}, paper.Address{URI: e.URI}, card(t)
	e.Set("jam")
	job, err := c.Send(t.Context(), at, d, never)
	if err != nil {
		t.Fatal(err)
	}
	p := until(t, c, at, job, d.Name, func(p paper.Progress) bool { return p.Stage.Ended() })
	if p.Stage != paper.StageFailed || !slices.Contains(p.Troubles, paper.TroubleJam) {
		t.Errorf("after a jam: %+v", p)
	}
}

// A person cancels what waits for paper. It is a printer of its own: after a jam, this one
// now and then answers nothing more once another job comes.
func TestCancel(t *testing.T) {
	t.Parallel()
	e, c, at, d, job := outOfPaper(t)
	if err := c.Cancel(t.Context(), at, job); err != nil {
		t.Fatal(err)
	}
	e.Clear("out") // it stops where it can
	until(t, c, at, job, d.Name, func(p paper.Progress) bool { return p.Stage == paper.StageCancelled })
}

// A printer that was switched off and on counts its jobs from 1 again: the job of that
// number is another's, and the client knows it by its name.
func TestKilledAndStartedAgain(t *testing.T) {
	t.Parallel()
	e := ipptest.Start(t, ipptest.Options{})
	c, at, d := &ipp.Client{}, paper.Address{URI: e.URI}, card(t)
	e.Set("out")
	job, err := c.Send(t.Context(), at, d, never)
	if err != nil {
		t.Fatal(err)
	}
	e.Off()
	if p, err := c.Look(t.Context(), at, job, d.Name); err == nil {
		t.Errorf("a printer that is off answers %+v", p)
	}
	if _, err := c.Send(t.Context(), at, d, never); !errors.As(err, new(*paper.Unsent)) {
		t.Errorf("sent to a printer that is off: %v", err)
	}
	e.Clear("out")
	e.On()
	if p, err := c.Look(t.Context(), at, job, d.Name); err != nil || p.Stage != paper.StageUnsure {
		t.Errorf("forgotten, and it says %+v, %v", p, err)
	}
	other := *d
	other.Name = "Someone else's"
	if n, err := c.Send(t.Context(), at, &other, never); err != nil || n != job {
		t.Fatalf("the next job is %d, %v; want the same number %d", n, err, job)
	}
	if p, err := c.Look(t.Context(), at, job, d.Name); err != nil || p.Stage != paper.StageUnsure {
		t.Errorf("another's job is taken for ours: %+v, %v", p, err)
	}
}
