package main

import (
	"flag"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"tallywalk/traveler"
)

var updateRoles = flag.Bool("roles", false, "write the README's table of who may do what")

var (
	roleLine = regexp.MustCompile(`(?m)^\tRole\w+ +Role = "(\w+)"`)
	deedLine = regexp.MustCompile(`(?m)^\tDeed\w+ +Deed = "(\w+)" +// (.+)$`)
	ofRoles  = regexp.MustCompile(`(?s)<!-- roles -->\n(.*)<!-- /roles -->`)
)

// rolesTable is who may do what, from the roles, the deeds and their comments in
// traveler/role.go, as May decides.
func rolesTable(t *testing.T) string {
	t.Helper()
	source, err := os.ReadFile("../../traveler/role.go")
	if err != nil {
		t.Fatal(err)
	}
	roles, deeds := roleLine.FindAllSubmatch(source, -1), deedLine.FindAllSubmatch(source, -1)
	if len(roles) < 6 || len(deeds) < 9 {
		t.Fatalf("%d roles and %d deeds in the source", len(roles), len(deeds))
	}
	var b strings.Builder
	b.WriteString("| |")
	for _, r := range roles {
		if !traveler.Role(r[1]).Valid() {
			t.Fatalf("%s is no role", r[1])
		}
		fmt.Fprintf(&b, " %s |", r[1])
	}
	b.WriteString("\n|---|" + strings.Repeat("---|", len(roles)) + "\n")
	for _, d := range deeds {
		fmt.Fprintf(&b, "| %s |", d[2])
		for _, r := range roles {
			mark := ""
			if traveler.May(traveler.Role(r[1]), traveler.Deed(d[1])) {
				mark = "yes"
			}
			fmt.Fprintf(&b, " %s |", mark)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// The README's table of who may do what is what the program decides.
func TestReadmeRoles(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	want, found := rolesTable(t), ofRoles.FindSubmatch(readme)
	if found == nil {
		t.Fatal("the README has no place for the table")
	}
	if *updateRoles {
		whole := strings.Replace(string(readme), string(found[0]),
			"<!-- roles -->\n"+want+"<!-- /roles -->", 1)
		if err := os.WriteFile("../../README.md", []byte(whole), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if string(found[1]) != want {
		t.Errorf("the README's table is not\n%s\ngo test ./cmd/tallywalk -run TestReadmeRoles -roles writes it", want)
	}
}
