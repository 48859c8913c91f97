package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/oldlog"
	"tallywalk/traveler/story"
)

const maxMapping = 64 << 10 // bytes

func readMapping(name string) (string, error) {
	b, err := os.ReadFile(name)
	if err != nil {
		return "", fmt.Errorf("the file %s cannot be read: %w", name, err)
	}
	if len(b) > maxMapping {
		return "", fmt.Errorf("%s is larger than 64 kB, which no mapping is", name)
	}
	return string(b), nil
}

// importLog takes the log that a shop kept before.
func (hs *house) importLog(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	m, err := intake.ParseMapping(req.MapName, req.Mapping)
	if err != nil {
		return err
	}
	set, err := hs.settings()
	if err != nil {
		return err
	}
	zone, err := zoneOf(cmp.Or(req.Zone, m.Zone, set.Zone))
	if err != nil {
		return err
	}
	rows, odd, err := intake.Log(req.File, in, m, zone)
	if err != nil {
		return err
	}
	p := oldlog.Make(rows, hs.desk.Shop(), odd, oldlog.Options{
		Now:       hs.host.now().UTC().Truncate(time.Millisecond),
		OverAfter: time.Duration(m.OverAfter) * 24 * time.Hour, By: importer, Family: hs.familyOf,
		Duplicates: m.Keep, Apart: m.Apart,
	})
	if p.Report.Taken == 0 {
		printOdd(out, &p.Report)
		return fmt.Errorf(
			"%s: none of its %d rows gives a scan, so nothing was imported; expected are rows with a batch, a place, and times between the year 2000 and now, in the columns that %s names",
			req.File, p.Report.Rows, req.MapName)
	}
	if !req.DryRun {
		if err := hs.keepLog(ctx, req.File, p); err != nil {
			return err
		}
	}
	printLog(out, req, p, m, zone)
	return nil
}

func (hs *house) familyOf(card traveler.Code) *story.Family {
	f, err := hs.desk.Family(card)
	if err != nil {
		return nil
	}
	return f
}

// keepLog releases the batches of a log and says their scans. What is cut off
// in between goes on where it was when the log is imported again.
func (hs *house) keepLog(ctx context.Context, file string, p *oldlog.Plan) error {
	if len(p.Machines)+len(p.Routes) > 0 {
		if err := hs.desk.Change(ctx, importer,
			&traveler.Change{From: hs.host.now().UTC(), Machines: p.Machines, Routes: p.Routes}); err != nil {
			return err
		}
	}
	room, err := hs.lists()
	if err != nil {
		return err
	}
	for part := range slices.Chunk(p.Batches, scansAtOnce) {
		var fresh []traveler.Release
		var cards []traveler.Code
		for i := range part {
			if !part[i].Known {
				fresh, cards = append(fresh, part[i].Release), append(cards, part[i].Card)
			}
		}
		if err := room.TakeBatches(ctx, file, fresh, cards, nil); err != nil {
			return err
		}
	}
	var said []story.Said
	flush := func() error {
		answers, err := hs.desk.Scans(ctx, said)
		if err != nil {
			return err
		}
		for i := range answers {
			if answers[i].Err != nil {
				return fmt.Errorf("%s: a scan of batch %s was not taken: %w", file, said[i].Scan.Card,
					answers[i].Err)
			}
		}
		said = said[:0]
		return nil
	}
	for i := range p.Batches {
		for _, s := range p.Batches[i].Scans {
			said = append(said, story.Said{By: importer, Scan: s})
		}
		if len(said) >= scansAtOnce {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	return flush()
}

// printLog says what a log became.
func printLog(out io.Writer, req request, p *oldlog.Plan, m *intake.Mapping, zone *time.Location) {
	r := &p.Report
	fmt.Fprintf(out, "%s: %d rows, %d of them taken: %d batches on %d machines, from %s to %s\n", req.File,
		r.Rows, r.Taken, r.Batches, r.Machines,
		r.From.In(zone).Format("2006-01-02 15:04"), r.To.In(zone).Format("2006-01-02 15:04"))
	fresh := 0
	for i := range p.Batches {
		if !p.Batches[i].Known {
			fresh++
		}
	}
	fmt.Fprintf(out, "%d machines, %d routes, %d batches and %d scans %s; %d scans were there already\n",
		len(p.Machines), len(p.Routes), fresh, r.Scans, done(req, "imported"), r.Again)
	if r.Attached > 0 {
		fmt.Fprintf(out, "%d operations were added to batches that were there\n", r.Attached)
	}
	fmt.Fprintf(out, "%d visits at %d operations by name, by %d people\n", r.Taken, r.Doings, r.People)
	fmt.Fprintf(out,
		"%d batches are done by what was counted, %d because nothing came of them for %d days before the log ended, %d go on\n",
		r.Done, r.Over, m.OverAfter, r.Open)
	if r.Passed > 0 {
		fmt.Fprintf(out,
			"%d pieces went on at operations where no row counts them: they were counted further on\n",
			r.Passed)
	}
	if r.CountedAgain > 0 {
		fmt.Fprintf(out,
			"%d good pieces are counted more often than they were there: their rows keep the numbers, what went on does not\n", r.CountedAgain)
	}
	if r.Missing > 0 {
		fmt.Fprintf(out,
			"%d pieces of batches that are over count as missing, for nobody says what became of them\n",
			r.Missing)
	}
	if len(r.NeverEnded) > 0 {
		fmt.Fprintf(out, "note: over, but not done by the rules: %s\n",
			strings.Join(r.NeverEnded[:min(len(r.NeverEnded), intake.Most)], ", "))
	}
	printOdd(out, r)
	for _, key := range slices.Sorted(maps.Keys(r.Anyway)) {
		fmt.Fprintf(out, "odd: %d rows %s\n", r.Anyway[key],
			cmp.Or(anywayWords[key], "do not fit the rules of the floor and are kept anyway"))
	}
	for _, what := range slices.Sorted(maps.Keys(r.Settled)) {
		kind, choice, _ := strings.Cut(what, " ")
		fmt.Fprintf(out, "settled: %d questions, %s: %s\n", r.Settled[what], settledWords[kind], choice)
	}
}

// printOdd names the rows that something is odd about.
func printOdd(out io.Writer, r *oldlog.Report) {
	for _, o := range r.Odd.All() {
		lines := make([]string, len(o.Lines))
		for i, n := range o.Lines {
			lines[i] = fmt.Sprint(n)
		}
		more := ""
		if o.N > len(lines) {
			more = ", ..."
		}
		fmt.Fprintf(out, "odd: %d rows %s: line %s%s\n", o.N, o.What, strings.Join(lines, ", "), more)
	}
}

// settledWords say what a kind of question asks.
var settledWords = map[string]string{
	string(story.QuestionOver):      "more pieces counted than the operation before let go",
	string(story.QuestionUncounted): "pieces left uncounted at an operation",
	string(story.QuestionScan):      "a scan that does not fit",
	string(story.QuestionClosed):    "work while the machine was closed",
	string(story.QuestionCounter):   "a counter that was reset",
	string(story.QuestionAnyway):    "done anyway",
}

// anywayWords say what of a row does not fit, by what the floor would have said.
var anywayWords = map[string]string{
	"order.wrong":   "begin an operation before the one ahead of it was begun",
	"count.started": "count more pieces than the batch began with",
	"count.over":    "count more pieces than the operation before had let go",
}
