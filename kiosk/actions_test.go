package kiosk_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tallywalk/kiosk"
	"tallywalk/traveler"
)

var update = flag.Bool("update", false, "write page/codes.js again")

func TestActionCodesAreUnique(t *testing.T) {
	seen := map[traveler.Code]traveler.Action{}
	for _, a := range traveler.Actions {
		c := kiosk.ActionCode(a)
		if got, ok := traveler.ParseCode(string(c)); !ok || got != c || c.Kind() != traveler.KindAction {
			t.Errorf("the code %q of %s is no action code", c, a)
		}
		if other, taken := seen[c]; taken {
			t.Errorf("%s and %s have the same code %s", a, other, c)
		}
		seen[c] = a
	}
	if c := kiosk.ActionCode("dance"); c != "" {
		t.Errorf("what is no action has the code %s", c)
	}
}

// Codes hang on walls: these were printed and must stay.
func TestActionCodesStay(t *testing.T) {
	for a, want := range map[traveler.Action]traveler.Code{
		traveler.ActArrive: "A0000010R", traveler.ActSetup: "A0000020N", traveler.ActRun: "A0000040F",
		traveler.ActStop: "A0000050B",
	} {
		if got := kiosk.ActionCode(a); got != want {
			t.Errorf("%s has the code %s, was %s", a, got, want)
		}
	}
}

// allCodes are the codes of a sheet, whatever page they are on.
func allCodes(reasons []traveler.Reason) (all []kiosk.SheetCode) {
	for _, g := range kiosk.Sheet(reasons) {
		all = append(all, g.Codes...)
	}
	return all
}

func TestSheet(t *testing.T) {
	seen := map[traveler.Code]bool{}
	for _, c := range allCodes(
		[]traveler.Reason{{Kind: "scrap", Code: "burr", Text: "Burr"},
			{Kind: "stop", Code: "burr", Text: "Burr"}}) {
		if _, ok := traveler.ParseCode(string(c.Code)); !ok || seen[c.Code] || c.Word == "" ||
			strings.Contains(c.Word, "{") {
			t.Errorf("%+v is on the sheet", c)
		}
		seen[c.Code] = true
	}
	for _, x := range []traveler.Action{traveler.ActSetup, traveler.ActRun, traveler.ActCount,
		traveler.ActUndo} {
		if !seen[kiosk.ActionCode(x)] {
			t.Errorf("%s is not on the sheet", x)
		}
	}
}

// TestPageCodes holds the page's table of codes against the program's.
func TestPageCodes(t *testing.T) {
	var w strings.Builder
	w.WriteString("// What the codes of an action sheet stand for. Written by the tests of package\n// kiosk (-update).\nexport const CODES = {\n")
	names := []string{}
	for _, a := range traveler.Actions {
		names = append(names, fmt.Sprintf("  %s: \"%s\",\n", kiosk.ActionCode(a), a))
	}
	for _, c := range allCodes(nil) {
		if line := fmt.Sprintf("  %s: \"%s\",\n", c.Code, c.Name); !slices.Contains(names, line) {
			names = append(names, line)
		}
	}
	w.WriteString(strings.Join(names, "") + "};\n")
	if *update {
		if err := os.WriteFile("page/codes.js", []byte(w.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile("page/codes.js")
	if err != nil || string(got) != w.String() {
		t.Errorf("page/codes.js is not what the program says (%v); run go test ./kiosk -update", err)
	}
}

// TestPageTestCard holds the text that the page compares a scanner with against
// the text that is printed.
func TestPageTestCard(t *testing.T) {
	printed := textIn(t, "../labels/testcard.go", `const TestCardText = "([^"]+)"`)
	page := textIn(t, "page/consts.js", `export const TEST_CARD = "([^"]+)"`)
	if printed != page {
		t.Errorf("the card says\n%q, the page\n%q", printed, page)
	}
}

func textIn(t *testing.T, file, pattern string) string {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(pattern).FindSubmatch(b)
	if m == nil {
		t.Fatalf("%s holds no %s", file, pattern)
	}
	return string(m[1])
}

// TestPageWords holds the page's names of the steps against the program's.
func TestPageWords(t *testing.T) {
	b, err := os.ReadFile("../web/lib/words/en/station.json")
	if err != nil {
		t.Fatal(err)
	}
	sentences := map[string]string{}
	if err := json.Unmarshal(b, &sentences); err != nil {
		t.Fatal(err)
	}
	for key, word := range kiosk.Words {
		if sentences[key] != word {
			t.Errorf("station.json says %q for %s, the program %q", sentences[key], key, word)
		}
	}
}

// TestPageIsSmall: what a first load fetches from here, as it is sent, stays far
// below 200 kB; what is shared with other pages adds about 50.
func TestPageIsSmall(t *testing.T) {
	total := 0
	err := fs.WalkDir(kiosk.Page(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if strings.Contains(d.Name(), ".test.") {
			t.Errorf("the program carries the test %s", d.Name())
		}
		data, err := fs.ReadFile(kiosk.Page(), name)
		var packed bytes.Buffer
		w := gzip.NewWriter(&packed)
		_, werr := w.Write(data)
		err = errors.Join(err, werr, w.Close())
		total += packed.Len()
		return err
	})
	if err != nil || total > 110_000 || total < 10_000 {
		t.Errorf("the page is %d bytes (%v)", total, err)
	}
	if f, err := kiosk.Page().Open("main.js"); err != nil || f.Close() != nil {
		t.Errorf("no main.js: %v", err)
	}
}

// TestPagePracticeCard holds the code that the page practises with against the one that
// the program gives to no batch.
func TestPagePracticeCard(t *testing.T) {
	page := textIn(t, "page/practising.js", `export const PRACTICE_CARD = "([^"]+)"`)
	if c, ok := traveler.ParseCode(page); !ok || c != traveler.PracticeCard {
		t.Errorf("the page practises with %q, the program keeps %q for that", page, traveler.PracticeCard)
	}
}
