package intake

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

// RFC 4180 quoting, a byte order mark, CRLF, semicolons and decimal commas.
func TestRoutesAsSpreadsheetsWriteThem(t *testing.T) {
	in := "\ufeffPart;route_rev;operation;work_centre;setup_min;cycle_min;instruction;first_off\r\n" +
		"\"SHAFT 4;2\";A;20;MILL;15;1,25;\"say \"\"hello\"\"\r\nsecond\";yes\r\n" +
		"\"SHAFT 4;2\";A;10;LATHE;30;2.5;;\r\n;;;;;;;\r\n"
	routes, err := Routes("r.csv", strings.NewReader(in))
	if err != nil {
		t.Fatal(err)
	}
	r := routes[0]
	if r.Part != "SHAFT 4;2" || len(r.Operations) != 2 || r.Operations[0].Number != 10 ||
		r.Operations[1].CycleMin != 1.25 ||
		r.Operations[1].Instruction != `say "hello" second` || !r.Operations[1].FirstOff ||
		r.Operations[0].CycleMin != 2.5 {
		t.Errorf("%+v", r)
	}
}

func TestBadLinesAreNamed(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"comma in a comma file", "part,route_rev,pieces\nP,A,\"1,5\"\n",
			`f.csv:2: pieces "1,5": must be a whole number`},
		{"no such column", "part,route_rev,pieces,colour\nP,A,1,red\n", `f.csv:1 "colour": is no column`},
		{"column missing", "part,pieces\nP,1\n", `f.csv:1: route_rev "": this column is missing`},
		{"column twice", "part,part,route_rev,pieces\n", `"part": stands twice`},
		{"date two ways", "part,route_rev,pieces,due\nP,A,1,03/04/2026\n",
			`f.csv:2: due "03/04/2026": is no date`},
		{"no such day", "part,route_rev,pieces,due\nP,A,1,2026-02-30\n", `due "2026-02-30"`},
		{"negative", "part,route_rev,pieces\nP,A,-5\n", `pieces "-5"`},
		{"absurd", "part,route_rev,pieces\nP,A,99999999999\n", `pieces "99999999999"`},
		{"too few cells", "part,route_rev,pieces\nP,A\n", `f.csv:2: has 2 cells; the header has 3`},
		{"empty file", "", `f.csv:1: is empty`},
		{"not UTF-8", "part,route_rev,pieces\nP\xff,A,1\n", `f.csv:2: is not UTF-8`},
		{"open quote", "part,route_rev,pieces\n\"P,A,1\n", `quotes do not fit`},
		{"control character", "part,route_rev,pieces\nP\x00,A,1\n", `holds control characters`},
		{"not a card", "part,route_rev,pieces,card\nP,A,1,B123\n", `card "B123": is no batch code`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Batches("f.csv", strings.NewReader(c.in), time.UTC)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("want %q, got %v", c.want, err)
			}
		})
	}
}

func TestTwentyProblemsAreEnough(t *testing.T) {
	in := "part,route_rev,pieces\n" + strings.Repeat("P,A,x\n", 33)
	_, err := Batches("f.csv", strings.NewReader(in), time.UTC)
	var bad *Refused
	if !errors.As(err, &bad) || bad.Total != 33 || len(bad.Problems) != 20 ||
		!strings.Contains(err.Error(), "and 13 more") {
		t.Errorf("%v", err)
	}
}

func TestDatesOfBothKinds(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	b, err := Batches("f.csv",
		strings.NewReader(
			"part\troute_rev\tpieces\tdue\treleased\tmaterial_lot\nP\tA\t5\t25.11.2026\t2026-11-20 07:00\tL1 + L2\n"), berlin)
	if err != nil {
		t.Fatal(err)
	}
	r := b[0].Release
	if got := fmt.Sprintf("%s %s %v", r.Due.Format(time.DateOnly), r.Released.Format(time.RFC3339),
		r.MaterialLots); got != "2026-11-25 2026-11-20T06:00:00Z [L1 L2]" {
		t.Error(got)
	}
}

func TestMachinesAndPeople(t *testing.T) {
	m, err := Machines("m.csv",
		strings.NewReader(
			"machine,name,work_centre,x_m,y_m,kind,unattended\nL1,Lathe one,LATHE,0,2.5,,yes\nQ,Room,INSP,10,0,inspection,\n"))
	if err != nil || len(m) != 2 || !m[0].Unattended || m[1].Kind != "inspection" {
		t.Fatalf("%+v %v", m, err)
	}
	if _, err := Machines("m.csv",
		strings.NewReader("machine,name,work_centre,x_m,y_m\nL1,a,b,0,0\nL1,a,b,0,0\n")); err == nil ||
		!strings.Contains(err.Error(), "stands on line 2 already") {
		t.Error(err)
	}
	if _, err := Machines("m.csv",
		strings.NewReader("machine,name,work_centre,x_m,y_m\nL1,a,b,NaN,0\n")); err == nil {
		t.Error("NaN is no place")
	}
	p, err := People("p.csv", strings.NewReader("person,name,role\n17,Ada Example,Inspector\n"))
	if err != nil || p[0].Role != "inspector" {
		t.Fatalf("%+v %v", p, err)
	}
	if _, err := Reasons("r.csv",
		strings.NewReader("kind,reason,text\nscrap,size,Out of size\nmood,x,y\n")); err == nil ||
		!strings.Contains(err.Error(), `kind "mood"`) {
		t.Error(err)
	}
}

func FuzzCSV(f *testing.F) {
	f.Add([]byte("part,route_rev,pieces\nP,A,5\n"))
	f.Add([]byte("\xef\xbb\xbfpart;route_rev;pieces;due\r\n\"P;1\";A;5;25.11.2026\r\n"))
	f.Add([]byte("part\troute_rev\tpieces\n\"a\"\"b\"\t\t\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		b, err := Batches("f.csv", strings.NewReader(string(raw)), time.UTC)
		if err != nil {
			return
		}
		for _, x := range b {
			x.Release.ID = "018f3b6e-7c1a-7b3e-9c4d-0123456789ab"
			if err := x.Release.WellFormed(); err != nil {
				t.Errorf("what was read is not well formed: %v", err)
			}
		}
	})
}
