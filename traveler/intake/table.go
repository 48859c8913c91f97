package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
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
}

// table is a file read as cells under known headers.
type table struct {
	file  string
	comma rune
	at    map[string]int
	rows  []row
	bad   Refused
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
	raw, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		t.problem(1, "", "", "cannot be read: "+err.Error())
		return t
	}
	if len(raw) > MaxBytes {
		t.problem(1, "", "", "is larger than 64 MB; split it")
		return t
	}
	raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
	if i := invalid(raw); i >= 0 {
		t.problem(1+bytes.Count(raw[:i], []byte("\n")), "", "", "is not UTF-8 here; save the file as CSV in UTF-8")
		return t
	}
	t.comma = separator(raw)
	t.parse(raw, columns)
	return t
}

func invalid(raw []byte) int {
	for i := 0; i < len(raw); {
		r, n := utf8.DecodeRune(raw[i:])
		if r == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return -1
}

// separator is the one that the header line has most of, outside quotes.
func separator(raw []byte) rune {
	head, _, _ := bytes.Cut(raw, []byte("\n"))
	best, most := ',', 0
	for _, c := range []rune{',', ';', '\t'} {
		n, quoted := 0, false
		for _, r := range string(head) {
			if r == '"' {
				quoted = !quoted
			}
			if r == c && !quoted {
				n++
			}
		}
		if n > most {
			best, most = c, n
		}
	}
	return best
}

func (t *table) parse(raw []byte, columns []column) {
	c := csv.NewReader(bytes.NewReader(raw))
	c.Comma, c.FieldsPerRecord, c.ReuseRecord = t.comma, -1, false
	head, err := c.Read()
	if errors.Is(err, io.EOF) {
		t.problem(1, "", "", "is empty; the first line names the columns: "+names(columns))
		return
	}
	if err != nil {
		t.csvProblem(err)
		return
	}
	if !t.header(head, columns) {
		return
	}
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.csvProblem(err)
			return
		}
		line, _ := c.FieldPos(0)
		t.add(line, cells, len(head))
	}
}

func (t *table) csvProblem(err error) {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		t.problem(pe.StartLine, "", "", "quotes do not fit: "+pe.Err.Error())
		return
	}
	t.problem(1, "", "", err.Error())
}

func (t *table) header(head []string, columns []column) bool {
	known := map[string]bool{}
	for _, c := range columns {
		known[c.name] = true
	}
	for i, h := range head {
		name := strings.ToLower(strings.TrimSpace(h))
		switch {
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

func (t *table) add(line int, cells []string, want int) {
	blank := true
	for i, c := range cells {
		cells[i] = strings.TrimSpace(c)
		blank = blank && cells[i] == ""
	}
	if blank {
		return
	}
	if len(cells) != want {
		t.problem(line, "", "", "has "+itoa(len(cells))+" cells; the header has "+itoa(want))
		return
	}
	t.rows = append(t.rows, row{line, cells})
}

// cell is a cell of a row, empty when the file lacks the column.
func (t *table) cell(r row, name string) string {
	i, ok := t.at[name]
	if !ok {
		return ""
	}
	return r.cells[i]
}
