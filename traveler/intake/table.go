package intake

import (
	"io"
	"slices"
	"strings"
)

// Limits of a file.
const (
	MaxBytes = 64 << 20
	MaxCell  = 2000 // characters
)

// column is one that a file may have.
type column struct {
	name     string
	optional bool
	derived  bool // in what was exported: known, and of no meaning here
}

// table is a file read as cells under known headers.
type table struct {
	file  string
	comma rune
	at    map[string]int
	// rename gives the columns of headers that go by another name.
	rename map[string]string
	rows   []row
	bad    Refused
}

type row struct {
	line  int
	cells []string
}

func (t *table) problem(line int, col, value, reason string) {
	t.bad.Add(Problem{t.file, line, col, value, reason})
}

// err is the refusal, or nil when nothing was wrong.
func (t *table) err() error { return t.bad.Err() }

// read reads a file; what is wrong with it is noted in the table.
func read(file string, r io.Reader, columns []column) *table {
	t := &table{file: file, at: map[string]int{}}
	renamed, _ := r.(*Renamed)
	if renamed != nil {
		t.rename = renamed.To
	}
	rows := t.load(r)
	if t.bad.Total > 0 && len(rows) == 0 {
		return t
	}
	if len(rows) == 0 || len(rows[0].cells) == 0 {
		t.problem(1, "", "", "is empty; the first line names the columns: "+names(columns))
		return t
	}
	if renamed != nil {
		renamed.Found = slices.Clone(rows[0].cells)
	}
	if !t.header(rows[0].cells, columns) {
		return t
	}
	for _, r := range rows[1:] {
		t.add(r, len(rows[0].cells))
	}
	return t
}

func (t *table) header(head []string, columns []column) bool {
	known := map[string]bool{}
	for _, c := range columns {
		known[c.name] = true
	}
	for i, h := range head {
		name, pass := t.named(h)
		switch {
		case pass:
		case !known[name]:
			t.problem(1, "", h, "is no column of this list; the columns are "+names(columns))
		case has(t.at, name):
			t.problem(1, "", h, "stands twice among the columns")
		default:
			t.at[name] = i
		}
	}
	for _, c := range columns {
		if !c.optional && !has(t.at, c.name) {
			t.problem(1, c.name, "", "this column is missing")
		}
	}
	return t.bad.Total == 0
}

func has(m map[string]int, k string) bool { _, ok := m[k]; return ok }

func names(columns []column) string {
	var must, may []string
	for _, c := range columns {
		if c.derived {
			continue
		}
		if c.optional {
			may = append(may, c.name)
		} else {
			must = append(must, c.name)
		}
	}
	s := strings.Join(must, ", ")
	if len(may) > 0 {
		s += ", [" + strings.Join(may, ", ") + "]"
	}
	return s
}

func (t *table) add(r row, want int) {
	if strings.Join(r.cells, "") == "" {
		return
	}
	if len(r.cells) != want {
		t.problem(r.line, "", "", "has "+itoa(len(r.cells))+" cells; the header has "+itoa(want))
		return
	}
	t.rows = append(t.rows, r)
}

// cell is a cell of a row, empty when the file lacks the column.
func (t *table) cell(r row, name string) string {
	i, ok := t.at[name]
	if !ok {
		return ""
	}
	return r.cells[i]
}
