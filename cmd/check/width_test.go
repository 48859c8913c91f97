package main

import (
	"strings"
	"testing"
)

func TestWidth(t *testing.T) {
	word, sum := strings.Repeat("w", 120), strings.Repeat("aaaa + ", 20)+"aaaa"
	for _, test := range []struct{ name, src, fault string }{
		{"a sum", "var x = " + sum, "store/a.go:3: 152 columns"},
		{"tabs count as four", "func f() {\n" + strings.Repeat("\t", 28) + "_ = 1\n}",
			"store/a.go:4: 117 columns"},
		{"a string over the edge", "var x = \"" + word + "\"", ""},
		{"a string of many lines", "var x = `\n" + word + "\n" + word + "`", ""},
		{"a string before the edge", "var x = \"w\" + " + sum, "store/a.go:3: 158 columns"},
		{"a remark behind code", "var x = 1 // " + word, ""},
		{"a remark of its own", "// " + word + "\nvar x = 1", "store/a.go:3: 123 columns"},
		{"a table in a comment", "//\t" + word + "\nvar x = 1", ""},
		{"letters, not bytes", "// " + strings.Repeat("é", 100) + "\nvar x = 1", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			wantFault(t, houseOf(t, map[string]string{"store/a.go": "package store\n\n" + test.src + "\n"}),
				test.fault)
		})
	}
}
