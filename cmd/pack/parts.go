package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
)

// part is something of others that is in the binaries.
type part struct {
	name, version string
	from          string   // where it is had, as SPDX wants it: an address, or NOASSERTION
	purl          string   // its package URL (ECMA-427)
	licence       string   // an SPDX expression
	texts         []string // of its licences
	in            []string // names of the binaries; nil = all
}

// ofPages are parts that lie in the pages: no tool says so, and a test holds the list
// to what is there. The libraries in ui.js are pinned in .tools/package-lock.json.
var ofPages = []struct {
	name, version, licence string
	npm                    bool
	path                   string // what of web/lib it is
	text                   string // the file of its licence, from web/lib
}{
	{"preact", "11.2.0", "MIT", true, "vendor/ui.js", "vendor/ui-LICENSES.txt"},
	{"htm", "3.1.1", "Apache-2.0", true, "vendor/ui.js", "../../LICENSE"},
	{"@preact/signals", "2.11.4", "MIT", true, "vendor/ui.js", "vendor/ui-LICENSES.txt"},
	{"@preact/signals-core", "1.14.5", "MIT", true, "vendor/ui.js", "vendor/ui-LICENSES.txt"},
	// It holds the C++ library zxing-cpp, compiled.
	{"zxing-wasm", "3.1.6", "MIT AND Apache-2.0", true, "vendor/zxing", "vendor/zxing/LICENSE"},
	{"Atkinson Hyperlegible Next", "2020-2024", "OFL-1.1", false, "font", "font/OFL.txt"},
}

// partsOf lists all parts of some binaries, those of Go as the binaries say. It fails
// where a module's folder or licence cannot be found, or its licence is not recognised.
func partsOf(ctx context.Context, binaries []made) ([]part, error) {
	root, err := output(ctx, nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	library := part{
		name: "go", version: strings.TrimPrefix(runtime.Version(), "go"), from: "https://go.dev/dl/",
		purl: "pkg:golang/std@" + strings.TrimPrefix(runtime.Version(), "go"),
	}
	if err := library.readLicence(strings.TrimSpace(root)); err != nil {
		return nil, err
	}
	parts := []part{library}
	at := map[string]int{}
	for _, b := range binaries {
		for _, dep := range b.info.Deps {
			if dep.Replace != nil {
				continue // by a folder of the project: its own
			}
			if i, ok := at[dep.Path]; ok {
				parts[i].in = append(parts[i].in, b.name)
				continue
			}
			at[dep.Path] = len(parts)
			parts = append(parts, moduleOf(dep.Path, dep.Version, b.name))
		}
	}
	if err := readModules(ctx, parts[1:]); err != nil {
		return nil, err
	}
	slices.SortFunc(parts[1:], func(a, b part) int { return strings.Compare(a.name, b.name) })
	pages, err := partsOfPages()
	return append(parts, pages...), err
}

func moduleOf(name, version, in string) part {
	return part{
		name: name, version: version, in: []string{in},
		from: fmt.Sprintf("https://proxy.golang.org/%s/@v/%s.zip", name, version),
		purl: "pkg:golang/" + name + "@" + version,
	}
}

// readModules reads the licences of modules where Go keeps them on this computer.
func readModules(ctx context.Context, parts []part) error {
	if len(parts) == 0 {
		return nil
	}
	args := []string{"list", "-m", "-json"}
	for _, p := range parts {
		args = append(args, p.name)
	}
	text, err := output(ctx, []string{"GOFLAGS=-mod=readonly"}, "go", args...)
	if err != nil {
		return err
	}
	folders := map[string]string{}
	for in := json.NewDecoder(strings.NewReader(text)); ; {
		var m struct{ Path, Dir string }
		if err := in.Decode(&m); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return fmt.Errorf("what go list says: %w", err)
		}
		folders[m.Path] = m.Dir
	}
	for i := range parts {
		if err := parts[i].readLicence(folders[parts[i].name]); err != nil {
			return err
		}
	}
	return nil
}

// licenceFile is what files are called that hold a licence, or what it wants said.
var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|third_party_licenses)`)

// readLicence reads what lies in a part's folder. It fails where there is no licence,
// or one that recognise does not know.
func (p *part) readLicence(dir string) error {
	names, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("the licence of %s: %w", p.name, err)
	}
	var ids []string
	for _, n := range names {
		if !licenceFile.MatchString(n.Name()) {
			continue
		}
		texts, err := textsIn(filepath.Join(dir, n.Name()), n.IsDir())
		if err != nil {
			return fmt.Errorf("the licence of %s: %w", p.name, err)
		}
		p.texts = append(p.texts, texts...)
		if n.IsDir() {
			continue // of parts of parts: their words are passed on
		}
		for _, id := range recognise(texts[0]) {
			if !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	if len(ids) == 0 {
		return fmt.Errorf("no known licence of %s in %s: read it, then say in cmd/pack how it is recognised",
			p.name, dir)
	}
	p.licence = strings.Join(ids, " AND ")
	return nil
}

func textsIn(name string, isFolder bool) ([]string, error) {
	names := []string{name}
	if isFolder {
		inside, err := filepath.Glob(filepath.Join(name, "*"))
		if err != nil {
			return nil, err
		}
		names = inside
	}
	var texts []string
	for _, n := range names {
		text, err := os.ReadFile(n)
		if err != nil {
			return nil, err
		}
		texts = append(texts, string(text))
	}
	return texts, nil
}

// recognise gives the SPDX identifiers of the licences that a text holds, by sentences
// that stand in those only (spdx.org/licenses); none for a text that it does not know.
func recognise(text string) []string {
	text = strings.Join(strings.Fields(text), " ")
	has := func(s string) bool { return strings.Contains(text, s) }
	var ids []string
	if has("Bitstream Vera Fonts Copyright") {
		return []string{"Bitstream-Vera"} // its grant begins like that of MIT
	}
	if has("Apache License Version 2.0, January 2004") {
		ids = append(ids, "Apache-2.0")
	}
	if has("Redistribution and use in source and binary forms") {
		if has("endorse or promote products derived") {
			ids = append(ids, "BSD-3-Clause")
		} else {
			ids = append(ids, "BSD-2-Clause")
		}
	}
	if has("Permission is hereby granted, free of charge, to any person obtaining a copy of this software") {
		ids = append(ids, "MIT")
	}
	if has("SIL OPEN FONT LICENSE Version 1.1") {
		ids = append(ids, "OFL-1.1")
	}
	return ids
}

func partsOfPages() ([]part, error) {
	var parts []part
	for _, p := range ofPages {
		made := part{name: p.name, version: p.version, from: "NOASSERTION", licence: p.licence}
		if p.npm {
			escaped := strings.Replace(p.name, "@", "%40", 1)
			made.purl = "pkg:npm/" + escaped + "@" + p.version
			short := p.name[strings.Index(p.name, "/")+1:]
			made.from = fmt.Sprintf("https://registry.npmjs.org/%s/-/%s-%s.tgz", p.name, short, p.version)
		}
		text, err := os.ReadFile(filepath.Join("web", "lib", p.text))
		if err != nil {
			return nil, err
		}
		made.texts = []string{string(text)}
		parts = append(parts, made)
	}
	return parts, nil
}

// notices are the licences of all parts, which go with every copy of the program.
func notices(parts []part) []byte {
	var b bytes.Buffer
	fmt.Fprintln(&b,
		"tallywalk is under the Apache License 2.0. Parts of others are under the licences below.")
	for _, p := range parts {
		fmt.Fprintf(&b, "\n%s\n%s %s: %s\n\n", strings.Repeat("=", 80), p.name, p.version, p.licence)
		for _, text := range p.texts {
			fmt.Fprintln(&b, strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n")))
		}
	}
	return b.Bytes()
}
