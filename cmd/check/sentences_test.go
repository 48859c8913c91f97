package main

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

func TestSentences(t *testing.T) {
	const code = "package p\n\nvar a = Fail(1, \"card.gone\")\nvar b = Msg{Key: \"card.\" + x}\n"
	for _, test := range []struct {
		name, json, code string
		faults           []string // parts of them
	}{
		{"all is said", "{\n  \"card.gone\": \"Gone.\",\n  \"card.held\": \"Held.\"\n}\n", code, nil},
		{"a key without a sentence", "{\n  \"card.held\": \"Held.\"\n}\n", code,
			[]string{`traveler/p.go:3:17: there is no sentence "card.gone"`}},
		{"a sentence without a key", "{\n  \"card.gone\": \"Gone.\",\n  \"web.gone\": \"Gone.\"\n}\n", code,
			[]string{`no code says "web.gone"`}},
		{"two on a line", "{\n  \"card.gone\": \"Gone.\", \"card.held\": \"Held.\"\n}\n", code,
			[]string{"2 sentences on 1 lines"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			tree := fstest.MapFS{"traveler/words/en/floor.json": {Data: []byte(test.json)},
				"traveler/p.go": {Data: []byte(test.code)}}
			faults, err := sentenceFaults(tree, []string{"traveler/p.go", "traveler/words/en/floor.json"})
			if err != nil || len(faults) != len(test.faults) {
				t.Fatalf("%q %v", faults, err)
			}
			for i, part := range test.faults {
				if !strings.Contains(faults[i], part) {
					t.Errorf("%q, wanted %q", faults[i], part)
				}
			}
		})
	}
	if !slices.Contains(stepNames(table), "sentences") {
		t.Error("no step finds them")
	}
}
