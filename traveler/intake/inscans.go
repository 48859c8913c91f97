package intake

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// maxLine is the longest line of a scan, bytes.
const maxLine = 1 << 20

// Kept is a scan of a record, as a list of scans has it.
type Kept struct {
	Line  int
	Seq   traveler.Seq // where it stood in that record; 0 = not said
	Scan  traveler.Scan
	Taken story.Taken
	Role  traveler.Role
}

// ReadScans reads a list of scans that was written with NewScans, and calls yield for
// each until it returns false. It holds no more than a few, so the list may be as long
// as it likes. What is wrong with it is a *Refused. Other errors are of r.
func ReadScans(file string, r io.Reader, yield func(*Kept) bool) error {
	in := scanReader{table: &table{file: file, at: map[string]int{}}, yield: yield}
	b := bufio.NewReaderSize(r, 64<<10)
	head, err := b.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		in.problem(1, "", "", "cannot be read: "+err.Error())
		return in.err()
	}
	switch {
	case isWorkbook(head):
		in.workbook(b)
	case isObject(head):
		in.jsonLines(b)
	default:
		in.csv(b)
	}
	return in.err()
}

type scanReader struct {
	*table
	yield func(*Kept) bool
	wide  int
}

func (in *scanReader) csv(r *bufio.Reader) {
	if bom, err := r.Peek(3); err == nil && string(bom) == "\ufeff" {
		_, _ = r.Discard(3)
	}
	first, _ := r.Peek(4096)
	c := csv.NewReader(r)
	c.Comma, c.FieldsPerRecord, c.ReuseRecord = separator(first), -1, true
	for begun := false; ; begun = true {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			if !begun {
				in.problem(1, "", "", "is empty; the first line names the columns")
			}
			return
		}
		if err != nil {
			in.csvProblem(err)
			return
		}
		line, _ := c.FieldPos(0)
		if !in.row(line, cells, begun) {
			return
		}
	}
}

// workbook reads the first sheet, with its times as the numbers of days that
// they are: it looks at no cell's format, for which it would have to hold them
// all.
func (in *scanReader) workbook(r io.Reader) {
	f, err := excelize.OpenReader(r,
		excelize.Options{RawCellValue: true, UnzipSizeLimit: 64 * maxUnpacked,
			UnzipXMLSizeLimit: maxInMemory})
	if err != nil {
		in.workbookProblem(err)
		return
	}
	defer func() { _ = f.Close() }()
	it, err := f.Rows(f.GetSheetName(0))
	if err != nil {
		in.workbookProblem(err)
		return
	}
	defer func() { _ = it.Close() }()
	for line := 1; it.Next(); line++ {
		cells, err := it.Columns()
		if err != nil {
			in.workbookProblem(err)
			return
		}
		for len(cells) < in.wide {
			cells = append(cells, "")
		}
		if !in.row(line, cells, line > 1) {
			return
		}
	}
	if err := it.Error(); err != nil {
		in.workbookProblem(err)
	}
}

// row takes a row; false ends the reading.
func (in *scanReader) row(line int, cells []string, begun bool) bool {
	if !begun {
		in.wide = len(cells)
		return in.head(cells)
	}
	if strings.Join(cells, "") == "" {
		return true
	}
	if len(cells) != in.wide {
		in.problem(line, "", "", "has "+itoa(len(cells))+" cells; the header has "+itoa(in.wide))
		return true
	}
	for i := range cells {
		cells[i] = asMeant(cells[i])
	}
	before := in.bad.Total
	k := in.kept(row{line, cells})
	if in.bad.Total > before {
		return true
	}
	return in.take(k)
}

func (in *scanReader) take(k *Kept) bool {
	if err := k.Scan.WellFormed(); err != nil {
		var te *traveler.Error
		column := ""
		if errors.As(err, &te) {
			column, err = te.Field, errors.New(te.Say.Text("en"))
		}
		in.problem(k.Line, column, string(k.Scan.ID), err.Error())
		return true
	}
	return in.yield(k)
}

func (in *scanReader) head(cells []string) bool {
	var columns []column
	for _, f := range append(slices.Clip(scanFields), zoneFields...) {
		columns = append(columns, may(f.name))
	}
	for _, need := range []string{"id", "at", "station", "action"} {
		columns[slices.IndexFunc(columns, func(c column) bool { return c.name == need })].optional = false
	}
	if !slices.ContainsFunc(cells,
		func(c string) bool { return strings.EqualFold(strings.TrimSpace(c), "id") }) {
		in.problem(1, "id", "",
			"this column is missing, so these are no scans that were exported; for a log of your own say --mapping and a file that says what its columns are")
		return false
	}
	return in.header(cells, columns)
}

// kept reads a row.
func (in *scanReader) kept(r row) *Kept {
	k := &Kept{Line: r.line, Seq: traveler.Seq(in.count(r, "seq")), Role: traveler.Role(in.cell(r, "role"))}
	s := &k.Scan
	*s = traveler.Scan{
		ID: traveler.ScanID(in.cell(r, "id")), At: in.exactly(r, "at"), Station: in.cell(r, "station"),
		Card:   in.cell(r, "card"),
		Action: traveler.Action(in.cell(r, "action")), Operator: traveler.PersonID(in.cell(r, "operator")),
		Operation: traveler.Op(in.count(r, "operation")),
		Visit:     traveler.ScanID(in.cell(r, "visit")), Phase: in.cell(r, "phase"),
		Good: in.perhaps(r, "good"), Missing: in.perhaps(r, "missing"),
		Reads: in.perhaps(r, "reads"), Pieces: int(in.count(r, "pieces")), To: in.cell(r, "to"),
		For: in.cell(r, "for"), Reason: in.cell(r, "reason"),
		Anyway: in.yes(r, "anyway"), Note: in.cell(r, "note"), Language: in.cell(r, "language"),
		Device: traveler.DeviceID(in.cell(r, "device")),
		N:      uint64(in.count(r, "n")), OffsetMS: in.count(r, "offset_ms"),
		WithinMS: in.count(r, "within_ms"), Basis: traveler.Seq(in.count(r, "basis")),
		Scrap: in.losses(r, "scrap"), Rework: in.losses(r, "rework"), Review: in.losses(r, "review"),
		Measured: in.measured(r),
	}
	if in.cell(r, "happened") != "" {
		s.Happened = ptr(in.exactly(r, "happened"))
	}
	if in.cell(r, "present") != "" {
		s.Present = ptr(in.yes(r, "present"))
	}
	k.Taken = story.Taken{
		Outcome: traveler.Outcome(in.cell(r, "outcome")), Card: traveler.Code(in.cell(r, "batch")),
		Machine: traveler.MachineID(in.cell(r, "machine")),
		Other:   traveler.Code(in.cell(r, "other")), Say: sayOf(in.cell(r, "say")),
	}
	if in.cell(r, "arrived") != "" {
		k.Taken.Arrived = in.exactly(r, "arrived")
	}
	return k
}

// exactly reads a time that says how far its clock was from UTC.
func (in *scanReader) exactly(r row, name string) time.Time {
	v := in.cell(r, name)
	if t, err := time.Parse(time.RFC3339, v); err == nil {
		return t.UTC()
	}
	if at, ok := counted(v, in.cell(r, name+"_zone")); ok {
		return at
	}
	in.problem(r.line, name, v, "is no time such as 2026-11-25T07:00:00+01:00")
	return time.Time{}
}

// counted reads a time from the days that a spreadsheet counts, by a clock that
// is so far from UTC.
func counted(days, zone string) (time.Time, bool) {
	n, err := strconv.ParseFloat(days, 64)
	if err != nil || n < 0 || n > 1e7 {
		return time.Time{}, false
	}
	z, err := time.Parse(zoneLayout, zone)
	if err != nil {
		return time.Time{}, false
	}
	_, offset := z.Zone()
	return clockAt(n).Add(-time.Duration(offset) * time.Second), true
}

func (in *scanReader) count(r row, name string) int64 {
	v := in.cell(r, name)
	if v == "" {
		return 0
	}
	n, err := strconv.ParseInt(v, 10, 64)
	if err != nil {
		in.problem(r.line, name, v, "must be a whole number")
	}
	return n
}

func (in *scanReader) perhaps(r row, name string) *int {
	if in.cell(r, name) == "" {
		return nil
	}
	return ptr(int(in.count(r, name)))
}

func (in *scanReader) measured(r row) []traveler.Measured {
	l, ok := measuredOf(in.cell(r, "measured"))
	if !ok {
		in.problem(r.line, "measured", in.cell(r, "measured"),
			"must be what was measured as JSON, as it is exported")
	}
	return l
}

func (in *scanReader) losses(r row, name string) []traveler.Loss {
	l, ok := lossesOf(in.cell(r, name))
	if !ok {
		in.problem(r.line, name, in.cell(r, name),
			"must be pieces and their reason, such as 2 size; 1 burr caused at 10")
	}
	return l
}

// jsonLines reads a scan a line, with how it was taken.
func (in *scanReader) jsonLines(r io.Reader) {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 64<<10), maxLine)
	n := 0
	for lines.Scan() {
		n++
		text := bytes.TrimSpace(lines.Bytes())
		if len(text) == 0 {
			continue
		}
		var x exported
		d := json.NewDecoder(bytes.NewReader(text))
		d.DisallowUnknownFields()
		if err := d.Decode(&x); err != nil || x.Scan == nil {
			why := "has no scan in it"
			if err != nil {
				why = strings.TrimPrefix(err.Error(), "json: ")
			}
			in.problem(n, "", "", "is no scan as it was exported: "+why)
			continue
		}
		k := &Kept{Line: n, Seq: x.Seq, Scan: *x.Scan, Role: x.Role, Taken: story.Taken{
			Arrived: x.Arrived, Outcome: x.Outcome, Card: x.Batch, Machine: x.Machine, Other: x.Issued,
		}}
		if x.Say != nil {
			k.Taken.Say = *x.Say
		}
		if !in.take(k) {
			return
		}
	}
	if err := lines.Err(); err != nil {
		in.problem(n+1, "", "", "is longer than 1 MB, or cannot be read: "+err.Error())
	}
}
