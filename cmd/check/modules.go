package main

import (
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
)

// pageRooms are the folders of the pages' modules. A module may import from its
// own room and from those named; what all may use lies in the library.
var pageRooms = []struct {
	dir string
	own []string
}{
	{dir: "web/lib"},
	{dir: "web/pages", own: []string{"web/lib"}}, // each folder in it is a room of its own
	{dir: "kiosk/page", own: []string{"web/lib"}},
}

// importPattern finds what a module imports: by name, for its effect, or later.
var importPattern = regexp.MustCompile(
	`(?m)(?:^(?:import|export|\})[^"'\n;]*?\bfrom\s*|^import\s*|\bimport\()["']([^"']+)["']`)

// moduleFaults holds the arrows between the pages' modules: relative, within the
// room or to the library, to a file that is there, and never in a circle. Tests
// may import what node brings along, and join rooms as they like.
func moduleFaults(fsys fs.FS, files []string) ([]string, error) {
	var faults []string
	arrows := map[string][]string{}
	for _, name := range files {
		room := pageRoom(name)
		if path.Ext(name) != ".js" || room == "" || isFixture(name) {
			continue
		}
		src, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		faults = append(faults, widthFaults(name, string(src))...)
		for _, m := range importPattern.FindAllSubmatch(src, -1) {
			to := string(m[1])
			if hidden := strings.HasPrefix(path.Base(name), "_"); hidden && strings.HasPrefix(to, "node:") {
				continue
			}
			target := path.Join(path.Dir(name), to)
			if why := arrowFault(name, to, target, files); why != "" {
				faults = append(faults, fmt.Sprintf("%s: imports %s: %s", name, to, why))
				continue
			}
			arrows[name] = append(arrows[name], target)
		}
	}
	return append(faults, circles(arrows)...), nil
}

// pageRoom is the room of a module: a folder of pages, or the library.
func pageRoom(name string) string {
	for _, r := range pageRooms {
		if !within(name, r.dir) {
			continue
		}
		if r.dir != "web/pages" {
			return r.dir
		}
		first, _, _ := strings.Cut(strings.TrimPrefix(name, r.dir+"/"), "/")
		return r.dir + "/" + first
	}
	return ""
}

func arrowFault(name, to, target string, files []string) string {
	if !strings.HasPrefix(to, "./") && !strings.HasPrefix(to, "../") {
		return "only relative addresses hold on the disk and as served"
	}
	types := strings.TrimSuffix(target, ".js") + ".d.ts"
	if !slices.Contains(files, target) && !slices.Contains(files, types) {
		return "there is no such file"
	}
	room := pageRoom(name)
	if isTest(name) || within(target, room) {
		return ""
	}
	for _, r := range pageRooms {
		if within(room, r.dir) &&
			slices.ContainsFunc(r.own, func(dir string) bool { return within(target, dir) }) {
			return ""
		}
	}
	return fmt.Sprintf("the arrows from %s go to itself and to web/lib", room)
}

// circles names one module of each circle of imports, with the way round.
func circles(arrows map[string][]string) []string {
	const open, done = 1, 2
	state := map[string]int{}
	var faults, way []string
	var visit func(name string)
	visit = func(name string) {
		switch state[name] {
		case done:
			return
		case open:
			round := append(slices.Clone(way[slices.Index(way, name):]), name)
			faults = append(faults, "a circle of imports: "+strings.Join(round, " -> "))
			return
		}
		state[name] = open
		way = append(way, name)
		for _, to := range arrows[name] {
			visit(to)
		}
		way = way[:len(way)-1]
		state[name] = done
	}
	for _, name := range slices.Sorted(maps.Keys(arrows)) {
		visit(name)
	}
	return faults
}
