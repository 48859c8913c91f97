package main

import "testing"

func TestErrorDocs(t *testing.T) {
	for _, test := range []struct{ name, src, fault string }{
		{"says when", "// Open opens. It fails with KindBusy when it is open.\nfunc Open() error { return nil }", ""},
		{"says nothing", "// Open opens.\nfunc Open() error { return nil }", "Open does not say"},
		{"has no comment", "func Open() (int, error) { return 0, nil }", "Open does not say"},
		{"returns none", "// Open opens.\nfunc Open() int { return 0 }", ""},
		{"is not exported", "func open() error { return nil }", ""},
		{"nobody can call it", "type f int\n\nfunc (f f) Open() error { return nil }", ""},
		{"a method", "type F[T any] struct{}\n\n// Open opens.\nfunc (f *F[T]) Open() error { return nil }",
			"Open does not say"},
	} {
		t.Run(test.name, func(t *testing.T) {
			wantFault(t, houseOf(t, map[string]string{"store/a.go": "package store\n\n" + test.src + "\n"}),
				test.fault)
		})
	}
	wantFault(t, houseOf(t,
		map[string]string{"store/a_test.go": "package store\n\nfunc Open() error { return nil }\n"}), "")
}
