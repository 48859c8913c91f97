package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"
)

// modulesFor lists the modules that the program is made of on a system.
func modulesFor(t *testing.T, at target) []*debug.Module {
	t.Helper()
	env := []string{"GOOS=" + at.system, "GOARCH=" + at.processor, "CGO_ENABLED=0"}
	text, err := output(t.Context(), env, "go", "list", "-deps", "-f",
		"{{with .Module}}{{.Path}} {{.Version}} {{if .Replace}}replaced{{end}}{{end}}", program)
	if err != nil {
		t.Fatal(err)
	}
	var list []*debug.Module
	for _, line := range slices.Compact(slices.Sorted(strings.Lines(text))) {
		if f := strings.Fields(line); len(f) == 2 && f[0] != own {
			list = append(list, &debug.Module{Path: f[0], Version: f[1]})
		} else if len(f) == 3 {
			list = append(list,
				&debug.Module{Path: f[0], Version: f[1], Replace: &debug.Module{Path: "./elsewhere"}})
		}
	}
	return list
}

// binaries stand for those of a real release: names, and what Go would link.
func binaries(t *testing.T) []made {
	t.Helper()
	t.Chdir("../..")
	var all []made
	for _, at := range []target{{"linux", "amd64"}, {"windows", "amd64"}} {
		m := madeOf("tallywalk-"+at.system, []byte(at.String()))
		m.info = &debug.BuildInfo{Deps: modulesFor(t, at)}
		all = append(all, m)
	}
	return all
}

var someRelease = release{"1.2.3", "abc", time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)}

// The bill has what SPDX 2.3 requires, by its JSON schema (required: SPDXID,
// creationInfo with created and creators, dataLicense, name, spdxVersion; of a package
// SPDXID, downloadLocation, name; of a relationship all three) and its clauses 6.5
// (the namespace is an address without #), 6.9 (YYYY-MM-DDThh:mm:ssZ), 3.2 (letters,
// numbers, . and - after SPDXRef-).
func TestBill(t *testing.T) {
	all := binaries(t)
	parts, err := partsOf(t.Context(), all)
	if err != nil {
		t.Fatal(err)
	}
	text, err := someRelease.bill(all, parts)
	if err != nil {
		t.Fatal(err)
	}
	var d struct {
		SPDXID, SPDXVersion, DataLicense, Name, DocumentNamespace string
		CreationInfo                                              struct {
			Created  string
			Creators []string
		}
		Packages      []map[string]any
		Relationships []struct{ SpdxElementID, RelationshipType, RelatedSpdxElement string }
	}
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	if d.SPDXID != "SPDXRef-DOCUMENT" || d.SPDXVersion != "SPDX-2.3" || d.DataLicense != "CC0-1.0" ||
		d.Name == "" {
		t.Errorf("the head: %s %s %s %q", d.SPDXID, d.SPDXVersion, d.DataLicense, d.Name)
	}
	if !regexp.MustCompile(
		`^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`).MatchString(
		d.DocumentNamespace) {
		t.Errorf("the namespace: %s", d.DocumentNamespace)
	}
	if d.CreationInfo.Created != "2026-03-04T05:06:07Z" || len(d.CreationInfo.Creators) != 1 ||
		!strings.HasPrefix(d.CreationInfo.Creators[0], "Tool: ") {
		t.Errorf("made: %v", d.CreationInfo)
	}
	ids := map[string]bool{d.SPDXID: true}
	licence := map[string]string{}
	for _, p := range d.Packages {
		id, name := p["SPDXID"].(string), p["name"].(string)
		if ids[id] || !regexp.MustCompile(`^SPDXRef-[A-Za-z0-9.-]+$`).MatchString(id) || name == "" ||
			p["downloadLocation"] == "" {
			t.Errorf("package %v", p)
		}
		ids[id], licence[name] = true, p["licenseDeclared"].(string)
		if name == "github.com/tiendc/go-deepcopy" {
			t.Error("a module that a folder of the project stands for is listed")
		}
	}
	described, held := 0, map[string]bool{}
	for _, r := range d.Relationships {
		if !ids[r.SpdxElementID] || !ids[r.RelatedSpdxElement] {
			t.Errorf("between what is not there: %v", r)
		}
		held[r.RelatedSpdxElement] = true
		if r.RelationshipType == "DESCRIBES" {
			described++
		}
	}
	if described != len(all) || len(held) != len(d.Packages) {
		t.Errorf("%d binaries described, %d of %d packages in one", described, len(held), len(d.Packages))
	}
	// As their own files and pages say.
	for name, want := range map[string]string{
		"go": "BSD-3-Clause", "go.etcd.io/bbolt": "MIT", "github.com/skip2/go-qrcode": "MIT",
		"github.com/richardlehane/mscfb": "Apache-2.0",
		"github.com/go-fonts/dejavu":     "BSD-3-Clause AND Bitstream-Vera",
		"github.com/klauspost/compress":  "BSD-3-Clause AND MIT",
		"htm":                            "Apache-2.0", "Atkinson Hyperlegible Next": "OFL-1.1",
	} {
		if got := licence[name]; got != want && !strings.HasPrefix(got, "Apache-2.0 AND "+want) {
			t.Errorf("%s is under %q, not %q", name, got, want)
		}
	}
	if again, err := someRelease.bill(all, parts); err != nil || !bytes.Equal(again, text) {
		t.Errorf("another bill of the same: %v", err)
	}
	if said := string(notices(parts)); strings.Count(said, "Permission is hereby granted") < 8 ||
		!strings.Contains(said, "SIL OPEN FONT LICENSE") {
		t.Error("licences are missing from what goes with the program")
	}
}

// No module of any system's program has a licence that nobody has looked at.
func TestLicencesAreKnown(t *testing.T) {
	t.Chdir("../..")
	for _, at := range targets {
		if _, err := partsOf(t.Context(),
			[]made{{name: at.String(), info: &debug.BuildInfo{Deps: modulesFor(t, at)}}}); err != nil {
			t.Errorf("%s: %v", at, err)
		}
	}
	strange := t.TempDir()
	p := part{name: "strange"}
	if err := p.readLicence(strange); err == nil {
		t.Error("a folder without a licence passes")
	}
	if err := os.WriteFile(filepath.Join(strange, "LICENSE"), []byte("You may look at this.\n"),
		0o600); err != nil {
		t.Fatal(err)
	}
	if err := p.readLicence(strange); err == nil || !strings.Contains(err.Error(), "strange") {
		t.Errorf("a licence that nobody knows passes: %v", err)
	}
}

// What lies in the pages of others is listed, with the version that is pinned.
func TestPartsOfPagesAreListed(t *testing.T) {
	t.Chdir("../..")
	lock, err := os.ReadFile(".tools/package-lock.json")
	if err != nil {
		t.Fatal(err)
	}
	var pinned struct {
		Packages map[string]struct{ Version, License string }
	}
	if err := json.Unmarshal(lock, &pinned); err != nil {
		t.Fatal(err)
	}
	listed := map[string]bool{}
	for _, p := range ofPages {
		if _, err := os.Stat(filepath.Join("web/lib", p.path)); err != nil {
			t.Error(err)
		}
		listed[strings.TrimPrefix(p.path, "vendor/")] = true
		if at, ok := pinned.Packages["node_modules/"+p.name]; ok &&
			(at.Version != p.version || at.License != p.licence) {
			t.Errorf("%s %s is listed, %s pinned, under %s and %s", p.name, p.version, at.Version, p.licence,
				at.License)
		}
	}
	names, err := os.ReadDir("web/lib/vendor")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if !listed[n.Name()] && !listed[strings.Replace(n.Name(), ".d.ts", ".js", 1)] &&
			n.Name() != "ui-LICENSES.txt" {
			t.Errorf("web/lib/vendor/%s is not listed in cmd/pack/parts.go", n.Name())
		}
	}
}

// The lines of sha256sum (coreutils: two spaces before the name); the sum of "abc" is
// that of FIPS 180-4's example.
func TestSums(t *testing.T) {
	got := string(sums([]made{madeOf("a.txt", []byte("abc"))}))
	if want := "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  a.txt\n"; got != want {
		t.Errorf("got %q", got)
	}
}

func TestReleaseOf(t *testing.T) {
	t.Chdir("../..")
	t.Setenv("SOURCE_DATE_EPOCH", "")
	r, err := releaseOf(t.Context(), "3f2a91c@1700000000")
	if err != nil || r.commit != "3f2a91c" || r.at.Format(time.RFC3339) != "2023-11-14T22:13:20Z" ||
		r.version == "" {
		t.Errorf("%+v, %v", r, err)
	}
	for _, stamp := range []string{"3f2a91c", "@12", "a b@12", "x@y"} {
		if _, err := releaseOf(t.Context(), stamp); err == nil {
			t.Errorf("%q is taken", stamp)
		}
	}
	t.Setenv("SOURCE_DATE_EPOCH", "86400")
	if r, err := releaseOf(t.Context(), "3f2a91c@1700000000"); err != nil || r.at.Unix() != 86400 {
		t.Errorf("SOURCE_DATE_EPOCH: %v, %v", r.at, err)
	}
	if err := run(context.Background(), []string{"--only", "plan9/mips"}, &bytes.Buffer{}); err == nil ||
		!strings.Contains(err.Error(), "linux/arm64") {
		t.Errorf("another system: %v", err)
	}
}
