package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"flag"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"tallywalk/cmd/tallywalk/demo"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var writeScreens = flag.Bool("screens", false, "write the README's pictures again")

// demoRig runs the demo command itself.
func demoRig(t *testing.T, args ...string) *rig {
	t.Helper()
	r := &rig{t: t, out: &safeBuffer{}}
	ctx, cancel := context.WithCancel(context.Background())
	ready, done := make(chan string, 1), make(chan int, 1)
	r.host = host{ctx: ctx, out: r.out, err: r.out, now: time.Now, rand: rand.Reader,
		ready: func(u string) { ready <- u }}
	go func() { done <- run(append([]string{"demo", "--listen", "127.0.0.1:0"}, args...), r.host) }()
	select {
	case r.base = <-ready:
	case code := <-done:
		cancel()
		t.Fatalf("the demo ended with %d: %s", code, r.out)
	}
	roomy()
	t.Cleanup(func() {
		cancel()
		if code := <-done; code != 0 {
			t.Errorf("the demo ended with %d: %s", code, r.out)
		}
	})
	return r
}

// TestScreens looks at the demo's pages in the sizes they are made for, light
// and dark: each shows something, none is wider than its screen. With -screens
// it writes the README's pictures.
func TestScreens(t *testing.T) {
	t.Parallel()
	weeks := "12"
	if *writeScreens || os.Getenv("TALLYWALK_SCREENS") != "" {
		weeks = fmt.Sprint(demo.Weeks) // as a reader will find it
	}
	r := demoRig(t, "--weeks", weeks)
	b := browse(t, r)
	machine, card := r.atWork()
	b.open("/station").waitFor("choose").click("pick-" + machine).click("choose-ok").waitFor("here")
	for _, s := range []struct {
		name, path string
		ready      string // what the page shows once it is there
		w, h       int64
	}{
		{"waits-wall", "/waits?wall=1&m=5&in=55", "wall-centre", 1920, 1080},
		{"waits", "/waits", "wait-row", 1280, 800},
		{"waits-phone", "/waits", "wait-row", 390, 844},
		{"ground", "/ground", "place", 1280, 800},
		{"ground-phone", "/ground", "place", 390, 844},
		{"ground-wall", "/ground?wall=1&m=5&in=55", "wall-total", 1920, 1080},
		{"pace", "/pace", "pace-op", 1280, 800},
		{"pace-wall", "/pace?wall=1&m=5&in=55", "wall-rows", 1920, 1080},
		{"calendars", "/calendars", "weeks", 1280, 800},
		{"history", "/history", "figures", 1280, 800},
		{"history-phone", "/history", "figures", 390, 844},
		{"compare", "/compare?part=2140-06", "answer", 1280, 800},
		{"compare-phone", "/compare?part=2140-06", "answer", 390, 844},
		{"station", "/station?card=" + card, "batch", 1280, 800},
		{"station-upright", "/station?card=" + card, "batch", 800, 1280},
		{"station-phone", "/station?card=" + card, "batch", 390, 844},
		{"batch", "/batch/" + card, "operation-row", 1280, 800},
		{"batch-phone", "/batch/" + card, "operation-row", 390, 844},
		{"questions", "/questions", "questions-open", 1280, 800},
		{"batches", "/batches", "batch-row", 800, 1280},
		{"start", "/", "sheet-actions", 1280, 800},
	} {
		b.do(chromedp.EmulateViewport(s.w, s.h))
		b.open(s.path).waitFor(s.ready)
		b.until(`!document.querySelector('[data-test="edge"]')?.dataset.kind`)
		for _, theme := range []string{"light", "dark"} {
			b.do(scheme(theme))
			b.settled()
			b.fits(s.name, s.w)
			b.shoot(s.name, theme, s.w, s.h)
		}
	}
}

// atWork finds a machine of the demo that runs, and the batch on it.
func (r *rig) atWork() (machine, card string) {
	r.t.Helper()
	var waits struct {
		Rows map[string]struct{ Kind, State, Machine, Card string }
	}
	r.do("GET", "/api/v1/waits", nil, &waits)
	if len(waits.Rows) < 10 {
		r.t.Fatalf("the demo's board has %d rows", len(waits.Rows))
	}
	for _, x := range waits.Rows {
		if x.State == "running" && (machine == "" || x.Machine < machine) {
			machine, card = x.Machine, x.Card
		}
	}
	if card == "" {
		r.t.Fatal("nothing runs in the demo")
	}
	return machine, card
}

// settled waits until the page has drawn what it has.
func (b *tab) settled() {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](
		`new Promise((ok) => setTimeout(() => requestAnimationFrame(ok), 300))`, chromedp.EvalAwaitPromise))
	b.ready()
}

func (b *tab) fits(name string, w int64) {
	b.t.Helper()
	got, err := chromedp.Run(b.ctx, chromedp.Evaluate[int64](`document.documentElement.scrollWidth`))
	if err != nil || got > w {
		b.t.Errorf("%s is %d wide on a screen of %d (%v)", name, got, w, err)
	}
}

func (b *tab) shoot(name, theme string, w, h int64) {
	b.t.Helper()
	raw, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	img, err := png.DecodeConfig(bytes.NewReader(raw))
	if err != nil || img.Width != int(w) || img.Height != int(h) {
		b.t.Errorf("%s: %+v %v", name, img, err)
	}
	if dir := os.Getenv("TALLYWALK_SCREENS"); dir != "" {
		b.write(filepath.Join(dir, fmt.Sprintf("%s-%s.png", name, theme)), raw)
	}
	if *writeScreens && theme == "light" &&
		(slices.Contains([]string{"waits-wall", "station", "batch", "ground", "compare"}, name)) {
		b.write(filepath.Join("../../testdata/screens", name+".png"), raw)
	}
}

func (b *tab) write(name string, raw []byte) {
	b.t.Helper()
	if err := os.WriteFile(name, raw, 0o644); err != nil {
		b.t.Fatal(err)
	}
}
