package intake

import (
	"encoding/csv"
	"io"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// columnsOf are the columns of the lists that a shop is made of, and of batches.
var columnsOf = map[string][]column{
	"machines": {
		must("machine"), must("name"), must("work_centre"), must("x_m"), must("y_m"),
		may("kind"), may("rate_per_hour"), may("calendar"), may("unattended"),
	},
	"reasons": {must("kind"), must("reason"), must("text"), may("work_centres")},
	"people":  {must("person"), must("name"), must("role"), may("code")},
	"calendars": {
		must("calendar"), may("kind"), may("days"), may("date"), may("from"), may("to"), may("zone"),
	},
	"routes": {
		must("part"), may("part_name"), may("drawing_rev"), may("material"), must("route_rev"),
		must("operation"), must("work_centre"),
		may("instruction"), must("setup_min"), must("cycle_min"), may("load_min"), may("pieces_per_cycle"),
		may("yield"),
		may("clampings"), may("first_off"), may("outside_days"),
	},
	"batches": {
		must("part"), must("route_rev"), must("pieces"), may("wanted"), may("due"), may("works_order"),
		may("customer"),
		may("order_line"), may("material_lot"), may("priority"), may("hot"), may("released"), may("card"),
	},
}

// Column is one that a list has.
type Column struct {
	Name   string
	Needed bool // a list without it is refused
}

// Columns are those of a list, in their usual order; nil for a list that is none.
func Columns(kind string) (out []Column) {
	for _, c := range columnsOf[kind] {
		out = append(out, Column{c.name, !c.optional})
	}
	return out
}

// Renamed is a file whose columns go by other names: To gives for a header, in lower
// case, the column that it is, or nothing where it is to be passed over. Found are the
// headers as they stand in the file, once it was read.
type Renamed struct {
	io.Reader
	To    map[string]string
	Found []string
}

// named is the column that a header stands for; pass says to leave it out.
func (t *table) named(head string) (name string, pass bool) {
	name = strings.ToLower(strings.TrimSpace(head))
	if to, ok := t.rename[name]; ok {
		return to, to == ""
	}
	return name, false
}

// WriteTable writes a table of texts as CSV, or as a workbook. It fails as w does.
func WriteTable(w io.Writer, f Format, rows [][]string) error {
	if f != XLSX {
		c := csv.NewWriter(w)
		if err := c.WriteAll(harmlessRows(rows)); err != nil {
			return err
		}
		return c.Error()
	}
	book := excelize.NewFile()
	defer func() { _ = book.Close() }()
	for i, r := range rows {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		if err := book.SetSheetRow(book.GetSheetName(0), at, &r); err != nil {
			return err
		}
	}
	return book.Write(w)
}

func harmlessRows(rows [][]string) [][]string {
	out := make([][]string, len(rows))
	for i, r := range rows {
		out[i] = slices.Clone(r)
		for k := range out[i] {
			out[i][k] = Harmless(out[i][k])
		}
	}
	return out
}
