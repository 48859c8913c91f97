package main

import (
	"fmt"
	"go/ast"
	"slices"
	"strings"
)

// module is the name of the project's own module.
const module = "tallywalk"

// bbolt is the database, which one room knows.
const (
	bbolt = "go.etcd.io/bbolt"
	rapid = "pgregory.net/rapid" // what helpers of tests draw with

	natsClient = "github.com/nats-io/nats.go"
	natsServer = "github.com/nats-io/nats-server/v2" // the engine, which one room knows
	sys        = "golang.org/x/sys"
)

// room is a folder with its subfolders, and the arrows that may leave it.
// Imports of the standard library and of packages of the same room are free
// everywhere; third parties' packages are free in tests.
type room struct {
	dir     string
	only    bool     // this folder alone: subfolders have rooms of their own, and it imports none of them
	own     []string // other rooms of the project; "dir/..." = with their subfolders
	third   []string // third parties' modules; nil = none, any = "*"
	refused []string // third parties' modules that "*" does not cover
	tests   []string // rooms of the project that its tests may import as well
}

// behindDoor is what the rooms of the server work with; they know nothing of each
// other, and web wires them.
var behindDoor = []string{"traveler/...", "web/ask", "web/door"}

// testRooms are rooms for tests alone.
var testRooms = []string{"web/apidoc", "web/bigfloor", "web/webtest"}

// rooms lists every room, the more particular first. Siblings do not import
// each other, in tests neither: what joins them belongs in cmd.
var rooms = []room{
	{dir: "traveler/calendar"},
	{dir: "traveler/stat", third: []string{"gonum.org/v1/gonum"}},
	{dir: "traveler/story", own: []string{"traveler", "traveler/calendar"}},
	{dir: "traveler/ground", own: []string{"traveler"}, third: []string{"gonum.org/v1/gonum"}},
	{dir: "traveler/oldlog", own: []string{"traveler", "traveler/story"}},
	{dir: "traveler/plain", own: []string{"traveler", "traveler/story"}},
	{dir: "traveler/rows", own: []string{"traveler", "traveler/story"}},
	{dir: "traveler/people", own: []string{"traveler", "traveler/story", "traveler/rows"}},
	{dir: "traveler/paper", own: []string{"traveler", "traveler/story", "traveler/people"}},
	{dir: "traveler/selfcheck",
		own: []string{"traveler", "traveler/story", "traveler/calendar", "traveler/measure",
			"traveler/plain"}},
	{dir: "traveler/board",
		own: []string{"traveler", "traveler/story", "traveler/calendar", "traveler/ground", "traveler/stat"}},
	{dir: "traveler/measure",
		own: []string{"traveler", "traveler/story", "traveler/calendar", "traveler/ground", "traveler/stat"}},
	{dir: "traveler/study", own: []string{"traveler", "traveler/story", "traveler/measure", "traveler/stat"}},
	{dir: "traveler/ahead",
		own: []string{"traveler", "traveler/story", "traveler/calendar", "traveler/ground",
			"traveler/measure", "traveler/stat"}},
	{dir: "traveler/intake",
		own:   []string{"traveler", "traveler/story", "traveler/calendar", "traveler/oldlog"},
		third: []string{"github.com/xuri/excelize/v2"}},
	{dir: "traveler/lists",
		own: []string{"traveler", "traveler/story", "traveler/calendar", "traveler/intake",
			"traveler/people"}},
	{dir: "traveler", only: true, own: []string{"traveler/calendar"}},
	{dir: "store/desk/desktest", own: []string{"store", "store/desk", "store/storetest", "traveler/..."},
		third: []string{rapid}},
	{dir: "store/stream",
		own:   []string{"store", "store/secret", "store/stream/fit", "traveler", "traveler/story"},
		third: []string{"github.com/nats-io/nats.go", "github.com/nats-io/nats.go/jetstream"}},
	{dir: "store/desk", own: []string{"store", "traveler/..."}, third: []string{"*"},
		refused: []string{bbolt}},
	{dir: "store/storetest/engines", own: []string{"store/engine", "store/secret"},
		third: []string{natsClient, sys}},
	{dir: "store/secret"},
	{dir: "store/engine", own: []string{"store", "store/secret"}, third: []string{natsServer, sys}},
	{dir: "store/stream/fit", own: []string{"store/secret"}, third: []string{natsClient}},
	{dir: "store/storetest", own: []string{"traveler", "traveler/story"}, third: []string{bbolt, rapid}},
	{dir: "store", only: true, own: []string{"traveler", "traveler/story", "traveler/calendar"},
		third: []string{"*"}},
	{dir: "kiosk", own: []string{"traveler/..."}, third: []string{"*"}, refused: []string{bbolt}},
	{dir: "labels", own: []string{"traveler/..."}, third: []string{"*"}, refused: []string{bbolt}},
	{dir: "web/page", own: []string{"traveler"}, third: []string{"*"}, refused: []string{bbolt}},
	{dir: "web/ask", own: []string{"traveler/..."}, third: []string{"*"}, refused: []string{bbolt}},
	{dir: "web/trust"},
	{dir: "web/door", own: []string{"traveler/...", "web/ask"}, third: []string{"*"},
		refused: []string{bbolt}, tests: testRooms},
	{dir: "web/live", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/floor", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/plan", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/figures", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/health", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/morning", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/compare", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/sites", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/printers", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/ahead", own: behindDoor, third: []string{"*"}, refused: []string{bbolt}, tests: testRooms},
	{dir: "web/bigfloor", own: []string{"traveler/..."}},
	{dir: "web/apidoc", own: []string{"traveler/...", "web/ask"}, third: []string{"*"},
		refused: []string{bbolt}},
	{dir: "web/webtest", own: []string{"kiosk/...", "labels/...", "store/...", "traveler/...", "web/..."},
		third: []string{"*"}, refused: []string{bbolt}},
	{dir: "web", only: true, own: []string{"traveler/...", "web/..."}, third: []string{"*"},
		refused: []string{bbolt}},
	{dir: "cmd", own: []string{"kiosk/...", "labels/...", "store/...", "traveler/...", "web/..."},
		third: []string{"*"}, refused: []string{bbolt}},
}

// roomOf finds the room of the folder dir.
func roomOf(dir string) (room, bool) {
	for _, r := range rooms {
		if r.dir == dir || !r.only && within(dir, r.dir) {
			return r, true
		}
	}
	return room{}, false
}

// within reports whether the slash-separated path is outer or lies in it.
func within(path, outer string) bool {
	return path == outer || strings.HasPrefix(path, outer+"/")
}

// importFaults holds the arrows for one file.
func importFaults(name string, file *ast.File) []string {
	dir := name[:max(strings.LastIndex(name, "/"), 0)]
	from, known := roomOf(dir)
	if !known {
		return []string{name + ": Go files live in one of the rooms listed in cmd/check/rooms.go"}
	}
	var faults []string
	for _, spec := range file.Imports {
		if why := from.refuses(importPath(spec), isTest(name)); why != "" {
			faults = append(faults, fmt.Sprintf("%s: imports %s: %s", name, importPath(spec), why))
		}
	}
	return faults
}

// refuses returns why the room may not import path, or "" if it may.
func (r room) refuses(path string, test bool) string {
	first, _, _ := strings.Cut(path, "/")
	switch {
	case path == "C":
		return "the program is built without C"
	case first == module:
		return r.refusesOwn(strings.TrimPrefix(path, module+"/"), test)
	case !strings.Contains(first, "."), test:
		return "" // the standard library has no dot in its first word
	case within(path, natsServer) && r.dir != "store/engine":
		return "the engine is known to store/engine alone"
	case !r.allowsThird(path):
		return fmt.Sprintf("%s may not; its third parties: %v, but not %v", r.dir, r.third, r.refused)
	}
	return ""
}

func (r room) refusesOwn(path string, test bool) string {
	top, _, _ := strings.Cut(r.dir, "/")
	switch {
	case path == r.dir, !r.only && within(path, r.dir):
		return ""
	case test && (top == "traveler" || top == "store") &&
		within(path, top): // tests join what lies under one roof
		return ""
	case test && slices.ContainsFunc(r.tests, func(dir string) bool { return within(path, dir) }):
		return ""
	case slices.ContainsFunc(r.own, func(dir string) bool {
		tree, all := strings.CutSuffix(dir, "/...")
		return path == tree || all && within(path, tree)
	}):
		return ""
	}
	return fmt.Sprintf("the arrows from %s go to %v only", r.dir, append([]string{r.dir}, r.own...))
}

func (r room) allowsThird(path string) bool {
	among := func(modules []string) bool {
		return slices.ContainsFunc(modules, func(m string) bool { return m == "*" || within(path, m) })
	}
	return among(r.third) && !among(r.refused)
}
