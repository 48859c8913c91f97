package intake

import (
	"bytes"
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// Limits of a workbook: what it may grow to when it is unpacked, so that a small
// file cannot fill the memory.
const (
	maxUnpacked = 128 << 20
	maxInMemory = 16 << 20 // of one sheet; more lies in a file meanwhile
)

// isWorkbook reports by its first bytes whether a file is a zip, as a workbook is.
func isWorkbook(raw []byte) bool { return bytes.HasPrefix(raw, []byte("PK\x03\x04")) }

// loadWorkbook reads the first sheet of a workbook. Of formulas the values that
// lie with them are taken; dates and times are known by the format of their
// cells, and written as CSV has them.
func (t *table) loadWorkbook(raw []byte) (rows []row) {
	f, err := excelize.OpenReader(bytes.NewReader(raw),
		excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxUnpacked})
	if err != nil {
		t.workbookProblem(err)
		return nil
	}
	defer func() { _ = f.Close() }()
	w := book{f: f, sheet: f.GetSheetName(0), dates: map[int]bool{}, zones: map[int]string{}}
	if p, err := f.GetWorkbookProps(); err == nil && p.Date1904 != nil {
		w.from1904 = *p.Date1904
	}
	it, err := f.Rows(w.sheet)
	if err != nil {
		t.workbookProblem(err)
		return nil
	}
	defer func() { _ = it.Close() }()
	for line := 1; it.Next(); line++ {
		cells, err := it.Columns()
		if err != nil {
			t.workbookProblem(err)
			return nil
		}
		for i := range cells {
			if cells[i], err = w.cell(strings.TrimSpace(cells[i]), i+1, line); err != nil {
				t.workbookProblem(err)
				return nil
			}
		}
		if len(cells) > 0 || line == 1 {
			rows = append(rows, row{line, cells})
		}
	}
	if err := it.Error(); err != nil {
		t.workbookProblem(err)
		return nil
	}
	return even(rows)
}

// even lets all rows have as many cells as the header: a sheet leaves out what
// is empty at the end.
func even(rows []row) []row {
	for i := range rows {
		if n := len(rows[0].cells) - len(rows[i].cells); n > 0 {
			rows[i].cells = append(rows[i].cells, make([]string, n)...)
		}
	}
	return rows
}

func (t *table) workbookProblem(err error) { t.problem(1, "", "", workbookFault(err)) }

func workbookFault(err error) string {
	switch {
	case errors.Is(err, excelize.ErrWorkbookFileFormat), errors.Is(err, excelize.ErrWorkbookPassword):
		return "is no XLSX workbook that can be opened; save it as XLSX without a password, or as CSV"
	case strings.Contains(err.Error(), "unzip size exceeds"):
		return "unpacks to more than " + strconv.Itoa(maxUnpacked>>20) + " MB; save it as CSV"
	}
	return "is no workbook that can be read (" + err.Error() + "); save it as CSV"
}

// book reads the cells of a sheet.
type book struct {
	f        *excelize.File
	sheet    string
	from1904 bool
	dates    map[int]bool   // styles that show dates or times
	zones    map[int]string // of them, those that show how far their clock is from UTC
}

// cell gives the text of a cell as CSV would have it.
func (w *book) cell(raw string, col, line int) (string, error) {
	v, isNumber := numberIn(raw)
	if !isNumber {
		return asMeant(raw), nil
	}
	name, err := excelize.CoordinatesToCellName(col, line)
	if err != nil {
		return "", err
	}
	style, err := w.f.GetCellStyle(w.sheet, name)
	if err != nil {
		return "", err
	}
	dated, known := w.dates[style]
	if !known {
		if s, err := w.f.GetStyle(style); err == nil {
			dated = showsDate(s)
			w.zones[style] = showsZone(s)
		}
		w.dates[style] = dated
	}
	if dated && v >= 0 {
		return w.moment(v, w.zones[style]), nil
	}
	if strings.ContainsAny(raw, "eE.") {
		return strconv.FormatFloat(v, 'f', -1, 64), nil
	}
	return raw, nil // 007 stays 007, where it is text
}

func numberIn(s string) (v float64, ok bool) {
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// daysTo1904 lie between the two beginnings that workbooks count from.
const daysTo1904 = 1462

// clockAt is what a clock shows, as though it were UTC, after so many of the
// days that a spreadsheet counts, to the millisecond.
func clockAt(days float64) time.Time {
	return time.UnixMilli(int64(math.Round((days - daysTo1970) * 86_400_000))).UTC()
}

// moment writes the number of days that a spreadsheet counts.
func (w *book) moment(days float64, zone string) string {
	if days > 1e7 {
		return strconv.FormatFloat(days, 'f', -1, 64)
	}
	at := clockAt(days)
	if w.from1904 {
		at = at.AddDate(0, 0, daysTo1904)
	}
	midnight := at.Equal(at.Truncate(24 * time.Hour))
	switch {
	case zone != "":
		return at.Format("2006-01-02T15:04:05.999") + zone
	case days < 1:
		return at.Format("15:04:05.999")
	case midnight:
		return at.Format(time.DateOnly)
	}
	return at.Format("2006-01-02 15:04:05.999")
}

// showsDate reports whether a cell's format shows a date or a time: one of those
// that ECMA-376 18.8.30 numbers, or one that names years, months, days, hours or
// seconds outside quotes and brackets.
func showsDate(s *excelize.Style) bool {
	if s.CustomNumFmt != nil {
		return namesDate(*s.CustomNumFmt)
	}
	n := s.NumFmt
	return n >= 14 && n <= 22 || n >= 27 && n <= 36 || n >= 45 && n <= 47 || n >= 50 && n <= 58
}

// showsZone gives the offset that the format of an exported time shows.
func showsZone(s *excelize.Style) string {
	if s.CustomNumFmt == nil {
		return ""
	}
	_, rest, ok := strings.Cut(*s.CustomNumFmt, `"`)
	zone, _, closed := strings.Cut(rest, `"`)
	if _, err := time.Parse("-07:00", zone); !ok || !closed || err != nil {
		return ""
	}
	return zone
}

func namesDate(format string) bool {
	quoted, escaped, bracket := false, false, ""
	inside := false
	for _, c := range strings.ToLower(format) {
		switch {
		case escaped:
			escaped = false
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\\' || c == '_' || c == '*':
			escaped = true
		case c == '[':
			inside, bracket = true, ""
		case c == ']':
			inside = false
			if bracket != "" && strings.Trim(bracket, "hms") == "" {
				return true // time that has passed: [h]:mm
			}
		case inside:
			bracket += string(c)
		case strings.ContainsRune("ymdhs", c):
			return true
		}
	}
	return false
}
