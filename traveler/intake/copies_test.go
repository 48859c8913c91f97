package intake

import (
	"bytes"
	"reflect"
	"testing"

	deepcopy "github.com/tiendc/go-deepcopy"
	"github.com/xuri/excelize/v2"
)

type part struct {
	Name   string
	Lots   []int
	Plan   *part
	Notes  map[string][]string
	Any    any
	Sizes  [2]*int
	hidden int
}

// The copy is equal to what was copied, and shares nothing with it.
func TestCopiesShareNothing(t *testing.T) {
	one, two := 1, 2
	fresh := func() *part {
		a, b := one, two
		return &part{
			Name: "flange", Lots: []int{1, 2}, Plan: &part{Name: "plan", Lots: []int{3}},
			Notes: map[string][]string{"a": {"x", "y"}}, Any: []int{4}, Sizes: [2]*int{&a, &b},
		}
	}
	from, got := fresh(), part{hidden: 7, Name: "before", Lots: []int{9, 9, 9}}
	if err := deepcopy.Copy(&got, from); err != nil {
		t.Fatal(err)
	}
	from.Lots[0], from.Plan.Lots[0], from.Notes["a"][0], *from.Sizes[1] = 8, 8, "z", 8
	from.Any.([]int)[0] = 8
	want := fresh()
	want.hidden = 7
	if !reflect.DeepEqual(&got, want) {
		t.Errorf("got %+v", got)
	}
	var byValue part
	if err := deepcopy.Copy(&byValue, *want); err != nil || byValue.Name != "flange" || byValue.Any == nil {
		t.Errorf("%+v, %v", byValue, err)
	}
	empty := part{Lots: []int{1}, Plan: want, Any: 3, Notes: want.Notes}
	if err := deepcopy.Copy(&empty, part{}); err != nil || !reflect.DeepEqual(empty, part{}) {
		t.Errorf("what is nil stays: %+v, %v", empty, err)
	}
	for name, err := range map[string]error{
		"no pointer":   deepcopy.Copy(got, got),
		"nothing":      deepcopy.Copy(&got, nil),
		"another type": deepcopy.Copy(&got, 3),
		"nil pointer":  deepcopy.Copy((*part)(nil), got),
		"nil source":   deepcopy.Copy(&got, (*part)(nil)),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// The library of workbooks copies columns of one width apart when it writes a sheet:
// what is set for each comes back from the file.
func TestColumnsOfAWorkbookStayApart(t *testing.T) {
	book := excelize.NewFile()
	defer func() { _ = book.Close() }()
	set := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	set(book.SetColWidth("Sheet1", "A", "D", 20))
	set(book.SetColWidth("Sheet1", "B", "B", 30))
	set(book.SetColVisible("Sheet1", "C", false))
	set(book.SetCellStr("Sheet1", "A1", "batch"))
	var raw bytes.Buffer
	set(book.Write(&raw))
	again, err := excelize.OpenReader(&raw)
	set(err)
	defer func() { _ = again.Close() }()
	for col, want := range map[string]float64{"A": 20, "B": 30, "C": 20, "D": 20} {
		if got, err := again.GetColWidth("Sheet1", col); err != nil || got != want {
			t.Errorf("column %s: %g, %v; want %g", col, got, err, want)
		}
	}
	if shown, err := again.GetColVisible("Sheet1", "C"); err != nil || shown {
		t.Errorf("column C is shown: %v", err)
	}
}
