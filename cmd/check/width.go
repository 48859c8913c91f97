package main

import (
	"fmt"
	"go/scanner"
	"go/token"
	"strings"
	"unicode/utf8"
)

// The width of a line, in columns, and what a tab takes of it.
const (
	maxWidth = 110
	tabWidth = 4
)

// widthFaults names the lines of a module that are too wide.
func widthFaults(name, src string) []string {
	var faults []string
	for i, line := range strings.Split(src, "\n") {
		if n := columns(line); n > maxWidth {
			faults = append(faults, widthFault(name, i+1, n))
		}
	}
	return faults
}

// goWidthFaults names the lines of a Go file that are too wide and could be broken:
// one stays as wide as it is where a string, or a remark behind code, reaches over
// the edge, and in the tables of comments. gofmt breaks no line by itself.
func goWidthFaults(name string, src []byte) []string {
	wide := map[int]int{} // columns, by the number of the line
	for i, line := range strings.Split(string(src), "\n") {
		if n := columns(line); n > maxWidth {
			wide[i+1] = n
		}
	}
	if len(wide) == 0 {
		return nil
	}
	excused := unbreakable(src)
	var faults []string
	for line := range strings.Count(string(src), "\n") + 1 {
		if n := wide[line+1]; n > 0 && !excused[line+1] {
			faults = append(faults, widthFault(name, line+1, n))
		}
	}
	return faults
}

func widthFault(name string, line, n int) string {
	return fmt.Sprintf("%s:%d: %d columns, %d are the limit", name, line, n, maxWidth)
}

// unbreakable are the lines on which a string lies over the edge, or a remark begins
// behind code, or a table of a comment is. A file that cannot be read as Go has none: another
// step reports that.
func unbreakable(src []byte) map[int]bool {
	file := token.NewFileSet().AddFile("", -1, len(src))
	var s scanner.Scanner
	s.Init(file, src, nil, scanner.ScanComments)
	lines := strings.Split(string(src), "\n")
	before := func(p token.Position) string { return lines[p.Line-1][:p.Column-1] }
	excused, last := map[int]bool{}, 0
	for {
		at, tok, text := s.Scan()
		if tok == token.EOF {
			return excused
		}
		p := file.Position(at)
		switch {
		case tok == token.COMMENT && (p.Line == last || strings.HasPrefix(text, "//\t")):
			excused[p.Line] = true
		case tok == token.STRING && strings.Contains(text, "\n"):
			for i := range strings.Count(text, "\n") + 1 {
				excused[p.Line+i] = true
			}
		case tok == token.STRING && columns(before(p)+text) > maxWidth-3: // what closes it may follow
			excused[p.Line] = true
		}
		if text != "\n" { // the scanner's own semicolon at the end of a line
			last = p.Line
		}
	}
}

// columns is how wide a line is on a screen.
func columns(line string) int {
	return utf8.RuneCountInString(line) + (tabWidth-1)*strings.Count(line, "\t")
}
