package main

import (
	"bufio"
	"io"
	"time"

	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
)

func cmdExport(h host, args []string) error {
	f := flags(h, "export")
	dir := dataFlag(f)
	format := f.String("format", "jsonl", "csv, xlsx or jsonl")
	to := f.String("out", "-", "file to write; - for standard output")
	part := f.String("part", "", "of this part only")
	from := f.String("from", "",
		"of batches and visits: that ended on this date or later, or are on the floor if the period reaches up to now; of scans: from then on (2026-11-25)")
	until := f.String("to", "", "up to this date, and on it")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if len(words) != 1 || !intake.CanExport(words[0]) {
		return &usageError{"say what is exported: batches, visits or scans"}
	}
	if !intake.Format(*format).Valid() {
		return &usageError{"--format is csv, xlsx or jsonl"}
	}
	for _, d := range []string{*from, *until} {
		if _, err := time.Parse(time.DateOnly, d); d != "" && err != nil {
			return &usageError{"--from and --to are dates such as 2026-11-25"}
		}
	}
	req := request{Do: "export", Kind: words[0], Format: *format, Part: *part, From: *from, To: *until}
	if *to == "-" {
		return at(h, *dir, req, nil)
	}
	if err := writeFile(h, *to, func(w host) error { return at(w, *dir, req, nil) }); err != nil {
		return err
	}
	return at(h, *dir, request{Do: "head"}, nil)
}

func (hs *house) doExport(req request, out io.Writer) error {
	zone, err := hs.zone()
	if err != nil {
		return err
	}
	sel := intake.Selection{Part: req.Part}
	if sel.From, err = dateIn(req.From, 0, zone); err != nil {
		return err
	}
	if sel.To, err = dateIn(req.To, 1, zone); err != nil {
		return err
	}
	sel.Past = !sel.To.IsZero() && sel.To.Before(hs.host.now())
	w := bufio.NewWriter(out)
	if err := intake.Export(w, people.WithoutBadges(hs.desk, hs.tables), req.Kind, intake.Format(req.Format),
		zone, sel); err != nil {
		return err
	}
	return w.Flush()
}

// dateIn is the beginning of a date in a zone, so many days on; zero for no
// date.
func dateIn(date string, days int, zone *time.Location) (time.Time, error) {
	if date == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, date, zone)
	return t.AddDate(0, 0, days), err
}

// zone is the shop's time zone.
func (hs *house) zone() (*time.Location, error) {
	set, err := hs.settings()
	if err != nil {
		return nil, err
	}
	return zoneOf(set.Zone)
}
