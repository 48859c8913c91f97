package ipp

import "testing"

// FuzzParse: the address of a printer reads back as itself, with a port and a path,
// and holds no password and no question.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"ipp://192.168.1.20/ipp/print", "ipps://[fe80::1%25eth0]", "ipp://a:b@c/",
		"ipp:x", "http://a/", "ipp://a:x/", "ipp://h/%2f?#"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		u, err := Parse(s)
		if err != nil {
			return
		}
		if u.Port() == "" || u.Path == "" || u.User != nil || u.RawQuery != "" {
			t.Fatalf("%q is %+v", s, u)
		}
		again, err := Parse(u.String())
		if err != nil || again.String() != u.String() {
			t.Fatalf("%q is %q, which is %v: %v", s, u, again, err)
		}
	})
}
