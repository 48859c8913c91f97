package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

func cmdDoctor(h host, args []string) error {
	f := flags(h, "doctor")
	dir := dataFlag(f)
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := errors.Join(noWords(words), needData(*dir)); err != nil {
		return err
	}
	fmt.Fprintln(h.out, "Names of people, parts, orders, customers and computers are left out.")
	sayComputer(h.out, *dir)
	// What is wrong with the folder is what support needs to hear, not a reason to end.
	if err := at(h, *dir, request{Do: "doctor"}, nil); err != nil {
		fmt.Fprintf(h.out, "the record: %s\n", withoutFolder(sentence(err), *dir))
	}
	return nil
}

// withoutFolder is a sentence that does not say where the data lies.
func withoutFolder(s, dir string) string {
	if abs, err := filepath.Abs(dir); err == nil {
		s = strings.ReplaceAll(s, abs, "the data folder")
	}
	return strings.ReplaceAll(s, dir, "the data folder")
}

// ourFiles are names that say nothing of the shop.
var ourFiles = regexp.MustCompile(
	`^(tallywalk(-aside)?(-[0-9TZ]+-\d+)?\.(db|head|sock|erased)|tallywalk\.log(\.before)?|authority)$`)

func sayComputer(w io.Writer, dir string) {
	line := func(name string, v any) { fmt.Fprintf(w, "%s: %v\n", name, v) }
	line("version", builtFrom())
	line("made with", runtime.Version()+" for "+runtime.GOOS+"/"+runtime.GOARCH)
	line("processors", runtime.NumCPU())
	line("free on the disk", fmt.Sprintf("%d MB", store.FreeBytes(dir)/1e6))
	others := 0
	names, err := os.ReadDir(dir)
	if err != nil {
		line("the data folder", errors.Unwrap(err))
		return
	}
	for _, d := range names {
		if !ourFiles.MatchString(d.Name()) {
			others++
			continue
		}
		if info, err := d.Info(); err == nil {
			line("file "+d.Name(),
				fmt.Sprintf("%d bytes, %s, %s", info.Size(), info.Mode(),
					info.ModTime().UTC().Format("2006-01-02 15:04 UTC")))
		} else if !errors.Is(err, fs.ErrNotExist) {
			line("file "+d.Name(), "cannot be looked at")
		}
	}
	line("other files in the folder", others)
}

// doDoctor says how the record is, in numbers only.
func (hs *house) doDoctor(w io.Writer) error {
	line := func(name string, v any) { fmt.Fprintf(w, "%s: %v\n", name, v) }
	set, err := hs.settings()
	if err != nil {
		return err
	}
	line("zone", set.Zone)
	line("language", set.Language)
	line("TLS", set.TLS)
	line("cards were printed", set.Printed)
	began := hs.host.now()
	rep, err := store.Verify(hs.log)
	line("walked", fmt.Sprintf("%d entries in %.1f s", rep.Entries, hs.host.now().Sub(began).Seconds()))
	if err != nil {
		line("the record is not whole", sentence(err))
	}
	counts := map[string]int{}
	if err := hs.log.Entries(1, func(e *traveler.Entry) bool {
		counts[kindOfEntry(e)]++
		return true
	}); err != nil {
		line("reading the record ended", sentence(err))
	}
	for _, name := range slices.Sorted(maps.Keys(counts)) {
		line("entries, "+name, counts[name])
	}
	sayFloor(line, hs)
	line("end", rep.HeadText())
	return nil
}

// kindOfEntry is what an entry is, in the record's own words.
func kindOfEntry(e *traveler.Entry) string {
	switch {
	case e.Begins():
		return e.Say.Key
	case e.Change != nil:
		return "change of the shop"
	case e.Release != nil:
		return "release"
	}
	return string(e.Scan.Action) + " " + string(e.Outcome)
}

func sayFloor(line func(string, any), hs *house) {
	families, batches, visits, asks := 0, 0, 0, 0
	hs.desk.Open(func(f *story.Family) bool {
		families++
		batches += len(f.Batches)
		visits += len(f.Visits)
		asks += len(f.Questions())
		return true
	})
	shop := hs.desk.Shop()
	line("machines", len(shop.Machines(hs.host.now())))
	line("families on the floor", families)
	line("batches of those", batches)
	line("visits of those", visits)
	line("questions of those", asks)
	line("scans that belong to no batch", len(hs.desk.Loose()))
	if d := hs.desk.ClockDoubt(); d != nil {
		line("the clock is in doubt", d.Key())
	}
}
