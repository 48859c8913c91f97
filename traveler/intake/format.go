package intake

import (
	"io"
	"time"

	"tallywalk/traveler"
)

// Format is how a list is written.
type Format string

// The formats of a list.
const (
	CSV   Format = "csv"
	XLSX  Format = "xlsx"
	JSONL Format = "jsonl" // one JSON object a line
)

// Valid reports whether a list can be written so.
func (f Format) Valid() bool { return f == CSV || f == XLSX || f == JSONL }

// Media is the media type of a format.
func (f Format) Media() string {
	switch f {
	case CSV:
		return "text/csv; charset=utf-8"
	case XLSX:
		return "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	}
	return "application/jsonl"
}

// sheet takes a list cell by cell, row by row.
type sheet interface {
	text(s string)
	whole(n int64)
	seconds(d time.Duration)
	metres(m float64)
	moment(t time.Time) // zero leaves the cell empty
	date(t time.Time)
	zone(t time.Time) // how far the clock that shows a moment is from UTC
	yes(b bool)
	none()
	end() error // of the row
	close() error
	drop() // what was not written is not wanted any more
}

// field is a column that is written: its name, and how its cell is written.
type field[T any] struct {
	name string
	put  func(s sheet, x *T)
}

// List writes things of one kind, one a row. It holds no more than a few rows,
// and a workbook what it needs, most of it in a file; Close writes what is left.
type List[T any] struct {
	fields []field[T]
	s      sheet
}

// Add writes one thing. It fails as the writer does, and when a sheet has no more rows.
func (l *List[T]) Add(x *T) error {
	for i := range l.fields {
		l.fields[i].put(l.s, x)
	}
	return l.s.end()
}

// Close ends the list. It does not close the writer. It fails as the writer does.
func (l *List[T]) Close() error { return l.s.close() }

// newList begins a list. Times are written in a zone.
func newList[T any](w io.Writer, f Format, name string, zone *time.Location, fields []field[T]) (*List[T],
	error) {
	names := make([]string, len(fields))
	for i := range fields {
		names[i] = fields[i].name
	}
	l := &List[T]{fields: fields}
	switch f {
	case CSV:
		l.s = newCSVSheet(w, zone, names)
	case JSONL:
		l.s = newJSONSheet(w, zone, names)
	case XLSX:
		b, err := newBookSheet(w, name, zone, names)
		if err != nil {
			return nil, err
		}
		l.s = b
	default:
		return nil, traveler.Invalid("format", "export.format", string(f))
	}
	return l, nil
}
