package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
)

// load reads a file as rows of cells, the header first. What kind of file it is
// its first bytes say, not its name: a workbook, JSON Lines, or CSV.
func (t *table) load(r io.Reader) []row {
	raw, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		t.problem(1, "", "", "cannot be read: "+err.Error())
		return nil
	}
	if len(raw) > MaxBytes {
		t.problem(1, "", "", "is larger than 64 MB; split it")
		return nil
	}
	if isWorkbook(raw) {
		return t.loadWorkbook(raw)
	}
	raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
	if i := invalid(raw); i >= 0 {
		t.problem(1+bytes.Count(raw[:i], []byte("\n")), "", "",
			"is not UTF-8 here; save the file as CSV in UTF-8")
		return nil
	}
	if isObject(raw) {
		return t.loadJSON(raw)
	}
	return t.loadCSV(raw)
}

func isObject(raw []byte) bool { return bytes.HasPrefix(bytes.TrimLeft(raw, " \t\r\n"), []byte("{")) }

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

func (t *table) loadCSV(raw []byte) (rows []row) {
	t.comma = separator(raw)
	c := csv.NewReader(bytes.NewReader(raw))
	c.Comma, c.FieldsPerRecord, c.ReuseRecord = t.comma, -1, false
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			return rows
		}
		if err != nil {
			t.csvProblem(err)
			return rows
		}
		line, _ := c.FieldPos(0)
		for i := range cells {
			cells[i] = asMeant(strings.TrimSpace(cells[i]))
		}
		rows = append(rows, row{line, cells})
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
