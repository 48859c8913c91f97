package main

import (
	"bytes"
	"encoding/csv"
	"math"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// Figures of the invented shop, worked out a second time by programs from Debian
// on what is exported: GNU datamash (its perc is type 7) and Miller. The export
// is the program's own; what is made of it is not.
func TestFiguresByOtherPrograms(t *testing.T) {
	t.Parallel()
	_, hs := simulatedShop(t, 3, 16)
	var exported bytes.Buffer
	if err := hs.doExport(request{Do: "export", Kind: "batches", Format: "csv"}, &exported); err != nil {
		t.Fatal(err)
	}
	done := mlr(t, exported.Bytes(), "--icsv", "--ocsv", "filter", `$state == "done" && is_empty($joined)`,
		"then", "cut", "-f", "part,lead_s,run_s,setup_s,scrap,started")
	var ours measure.Histories
	scrap := map[string]int{}
	if err := hs.desk.Facts(story.FactQuery{}, func(b *story.BatchFact) bool {
		if ours.Add(b) {
			scrap[b.Part] += b.Scrap
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	h := ours.Result()
	if h.Ended < 200 {
		t.Fatalf("only %d batches", h.Ended)
	}

	// Lead times: percentiles by datamash.
	q := table(t, run1(t, "datamash", done, "-t,", "--header-in", "median", "lead_s", "perc:80", "lead_s",
		"perc:95", "lead_s", "count", "lead_s",
		"perc:85", "lead_s", "max", "lead_s", "sstdev", "lead_s"))[0]
	for i, want := range []float64{h.Lead.P50.Seconds(), h.Lead.P80.Seconds(), h.Lead.P95.Seconds(),
		float64(h.Ended), h.Lead.P85.Seconds(), h.Lead.Max.Seconds(), h.Lead.SD.Seconds()} {
		// datamash prints 14 digits.
		if got := number(t, q[i]); math.Abs(got-want) > 1e-6*want+0.01 {
			t.Errorf("lead time, figure %d: datamash has %v, we have %v", i, got, want)
		}
	}
	// Process cycle efficiency: sums by datamash.
	s := table(t, run1(t, "datamash", done, "-t,", "--header-in", "sum", "run_s", "sum", "lead_s", "sum",
		"setup_s"))[0]
	if got, want := number(t, s[0])/number(t, s[1]), h.Parts.Efficiency(); math.Abs(got-want) > 1e-6 {
		t.Errorf("efficiency: datamash has %v, we have %v", got, want)
	}
	if got, want := number(t, s[2]), h.Parts.Setup; math.Abs(got-want) > 1e-6*want+float64(h.Ended)*0.001 {
		t.Errorf("set-up: datamash has %v, we have %v", got, want)
	}
	if got, want := (number(t, s[0])+number(t, s[2]))/number(t,
		s[1]), h.Parts.Touch(); math.Abs(got-want) > 1e-6 {
		t.Errorf("touch time: datamash has %v, we have %v", got, want)
	}
	// The share rejected: sums by datamash.
	rejected := table(t, run1(t, "datamash", done, "-t,", "--header-in", "sum", "scrap", "sum", "started"))[0]
	if got, want := number(t, rejected[0])/number(t, rejected[1]), h.Rejected(); math.Abs(got-want) > 1e-9 {
		t.Errorf("share rejected: datamash has %v, we have %v", got, want)
	}
	// Scrap by part: grouped by Miller.
	for _, row := range table(t,
		mlr(t, done, "--icsv", "--ocsv", "--headerless-csv-output", "stats1", "-a", "sum", "-f", "scrap",
			"-g", "part")) {
		if got := number(t, row[1]); got != float64(scrap[row[0]]) {
			t.Errorf("scrap of %s: Miller has %v, we have %d", row[0], got, scrap[row[0]])
		}
		delete(scrap, row[0])
	}
	for part := range scrap {
		t.Errorf("Miller has no scrap of %s", part)
	}
}

func mlr(t *testing.T, in []byte, args ...string) []byte { return run1(t, "mlr", in, args...) }

// run1 lets a program read bytes and gives what it writes.
func run1(t *testing.T, program string, in []byte, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Stdin = bytes.NewReader(bytes.TrimPrefix(in, []byte("\ufeff")))
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %v: %v: %s (go run ./cmd/check --install gets it)", program, args, err, errs.String())
	}
	return out.Bytes()
}

func table(t *testing.T, out []byte) [][]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(out)).ReadAll()
	if err != nil || len(rows) == 0 {
		t.Fatalf("%s: %v", out, err)
	}
	return slices.Clip(rows)
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}
