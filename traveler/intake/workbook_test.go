package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"tallywalk/traveler"
)

// made is a workbook as spreadsheet programs make them: cells with formats of
// their own.
func made(t testing.TB, rows [][]any, styles map[string]string) []byte {
	t.Helper()
	f := excelize.NewFile()
	for i, r := range rows {
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &r); err != nil {
			t.Fatal(err)
		}
	}
	for cell, format := range styles {
		id, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		if err != nil {
			t.Fatal(err)
		}
		if err := f.SetCellStyle("Sheet1", cell, cell, id); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The numbers of days are those of ECMA-376 part 1, 18.17.4.1, by the 1900 date
// base: 46351 is 2026-11-25, and a day is 1.
func TestWorkbookOfBatches(t *testing.T) {
	raw := made(t, [][]any{
		{"part", "route_rev", "pieces", "due", "released", "material_lot", "priority"},
		{4711, "A", 50, 46351, 46346.29166666667, "H1 + H2", 1.0},
		{"'=SUM(1)", "A", 5, "25.11.2026", "2026-11-20 07:00", nil, nil},
		{},
		{"P", "A", 7, 46351, 46346, "", 0},
	}, map[string]string{"D2": "dd.mm.yyyy", "E2": "dd/mm/yy\\ hh:mm", "D5": `[$-407]d"."\ mmmm\ yyyy`,
		"E5": "yyyy-mm-dd hh:mm"})
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	// What it is, its first bytes say.
	b, err := Batches("list.csv", bytes.NewReader(raw), berlin)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, x := range b {
		r := x.Release
		got = append(got,
			fmt.Sprintf("%d %s %d %s %s %v %d", x.Line, r.Part, r.Pieces, r.Due.Format(time.DateOnly),
				r.Released.Format(time.RFC3339), r.MaterialLots, r.Priority))
	}
	want := []string{
		"2 4711 50 2026-11-25 2026-11-20T06:00:00Z [H1 H2] 1",
		"3 =SUM(1) 5 2026-11-25 2026-11-20T06:00:00Z [] 0",
		"5 P 7 2026-11-25 2026-11-19T23:00:00Z [] 0",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestWorkbookRefusalsNameTheirRow(t *testing.T) {
	raw := made(t, [][]any{{"machine", "name", "work_centre", "x_m", "y_m", "rate_per_hour"},
		{"L1", "One", "TURN", 0.25, 1e-3, 60}, {"L2", "Two", "TURN", "far", 0, nil}}, nil)
	_, err := Machines("m.xlsx", bytes.NewReader(raw))
	if err == nil || !strings.Contains(err.Error(), `m.xlsx:3: x_m "far": must be a number`) {
		t.Error(err)
	}
	m, err := Machines("m.xlsx",
		bytes.NewReader(
			made(t, [][]any{{"machine", "name", "work_centre", "x_m", "y_m"},
				{"L1", "One", "TURN", 0.1, 1e-3}}, nil)))
	if err != nil || m[0].X != 0.1 || m[0].Y != 0.001 {
		t.Errorf("%+v %v", m, err)
	}
}

// Times of day, and the value that lies with a formula.
func TestWorkbookTimesAndFormulas(t *testing.T) {
	f := excelize.NewFile()
	for i, r := range [][]any{{"calendar", "days", "from", "to", "zone"},
		{"two", "mon-fri", 0.25, 0.5833333333, "Europe/Berlin"}} {
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &r); err != nil {
			t.Fatal(err)
		}
	}
	format := "h:mm"
	id, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.SetCellStyle("Sheet1", "C2", "D2", id); err != nil {
		t.Fatal(err)
	}
	if err := f.SetCellFormula("Sheet1", "C2", "1/4"); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	k, err := Calendars("k.xlsx", &b, "")
	if err != nil || len(k) != 1 || k[0].Turns[0].From != "06:00" || k[0].Turns[0].To != "14:00" {
		t.Errorf("%+v %v", k, err)
	}
}

// A workbook that is small and unpacks to more than anybody has is refused, and
// so is what only begins like one.
func TestWorkbookBomb(t *testing.T) {
	raw := made(t, [][]any{{"kind", "reason", "text"}}, nil)
	in, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	for _, f := range in.File {
		if err := out.Copy(f); err != nil {
			t.Fatal(err)
		}
	}
	// The head of the piece says what it unpacks to, and that is believed.
	w, err := out.CreateRaw(
		&zip.FileHeader{Name: "xl/media/picture.bin", Method: zip.Deflate, CompressedSize64: 2,
			UncompressedSize64: maxUnpacked + 1})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write([]byte{3, 0}); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		raw  []byte
		want string
	}{
		"bomb":       {b.Bytes(), "unpacks to more than 128 MB"},
		"cut":        {raw[:len(raw)/2], "is no workbook that can be read"},
		"other zip":  {[]byte("PK\x03\x04 and nothing else"), "is no workbook that can be read"},
		"empty list": {made(t, nil, nil), "is empty"},
	} {
		_, err := Reasons("r.xlsx", bytes.NewReader(c.raw))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: want %q, got %v", name, c.want, err)
		}
	}
}

// Formats of ECMA-376 part 1, 18.8.30 and 18.8.31.
func TestFormatsThatShowDates(t *testing.T) {
	for format, want := range map[string]bool{
		"General": false, "0.00": false, "#,##0.00 \"days\"": false, "yyyy-mm-dd": true, "[h]:mm": true,
		"[Red]0.0": false, "0.00E+00": false,
		"[$-409]d-mmm": true, `0" h"`: false, `0\h`: false, "mm:ss.0": true, "@": false,
		"[$€-407]#,##0": false,
	} {
		if got := namesDate(format); got != want {
			t.Errorf("%q: %v", format, got)
		}
	}
}

func TestHarmlessIsReversible(t *testing.T) {
	for _, s := range []string{"", "plain", "=1+1", "+49 30", "-5", "-1-1", "@x", "'quoted", "''", "'", "\tx",
		"\rx", "-", "=", "1'2", "+", "'=x"} {
		h := Harmless(s)
		if strings.ContainsRune("=@\t\r", rune((h + " ")[0])) {
			t.Errorf("%q became %q, which a spreadsheet takes for a formula", s, h)
		}
		if back := asMeant(h); back != s {
			t.Errorf("%q became %q, and %q again", s, h, back)
		}
	}
}

func TestLossesComeBack(t *testing.T) {
	for _, l := range [][]traveler.Loss{
		nil, {{Reason: "size", N: 2}}, {{Reason: "size", N: 2, CausedAt: 10}, {Reason: "", N: 1}},
		{{Reason: "a; b", N: 3}, {Reason: `"x" caused at 7`, N: 1, CausedAt: 20}, {Reason: " blank ", N: 4}},
	} {
		back, ok := lossesOf(lossText(l))
		if !ok || fmt.Sprint(back) != fmt.Sprint(l) {
			t.Errorf("%v became %q and %v", l, lossText(l), back)
		}
	}
	for _, bad := range []string{"many", "2", "2 size caused at x", "x size"} {
		if _, ok := lossesOf(bad); ok {
			t.Errorf("%q was read", bad)
		}
	}
}

func FuzzScans(f *testing.F) {
	f.Add([]byte("id,at,station,card,action\n018f3b6e-7c1a-7b3e-9c4d-0123456789ab,2026-01-10T07:00:00Z,T1,W,run\n"))
	f.Add([]byte(`{"seq":1,"scan":{"id":"018f3b6e-7c1a-7b3e-9c4d-0123456789ab","at":"2026-01-10T07:00:00Z","station":"T1","card":"W","action":"run"}}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if bytes.HasPrefix(raw, []byte("PK")) {
			return
		}
		err := ReadScans("s", bytes.NewReader(raw), func(k *Kept) bool {
			if err := k.Scan.WellFormed(); err != nil {
				t.Errorf("what was read is not well formed: %v", err)
			}
			return true
		})
		var bad *Refused
		if err != nil && !errors.As(err, &bad) {
			t.Errorf("%v names no place", err)
		}
	})
}

// FuzzLists: any list of any bytes, a workbook too, is read or refused with its places.
func FuzzLists(f *testing.F) {
	f.Add(byte(0), []byte("machine,name,work_centre,x_m,y_m\nL1,One,TURN,0.1,2\n"))
	f.Add(byte(1), []byte("kind,reason,text\nscrap,size,Out of size\n"))
	f.Add(byte(2), []byte("person,name,badge,role\n17,A,BADGE1,operator\n"))
	f.Add(byte(3), []byte("part,route_rev,operation,work_centre\nP,A,10,TURN\n"))
	f.Add(byte(4), []byte("corner,x_m,y_m\nC1,0,0\n"))
	f.Add(byte(5), []byte("from,to\nC1,L1\n"))
	f.Add(byte(0), made(f,
		[][]any{{"machine", "name", "work_centre", "x_m", "y_m"}, {"L1", "One", "TURN", 0.1, 1e-3}}, nil))
	f.Fuzz(func(t *testing.T, kind byte, raw []byte) {
		if len(raw) > 1<<16 {
			return
		}
		var err error
		switch r := bytes.NewReader(raw); kind % 6 {
		case 0:
			_, err = Machines("f", r)
		case 1:
			_, err = Reasons("f", r)
		case 2:
			_, err = People("f", r)
		case 3:
			_, err = Routes("f", r)
		case 4:
			_, err = Corners("f", r)
		case 5:
			_, err = Aisles("f", r)
		}
		var bad *Refused
		if err != nil && (!errors.As(err, &bad) || bad.Total == 0 || len(bad.Problems) > Most) {
			t.Errorf("%v names no place", err)
		}
	})
}
