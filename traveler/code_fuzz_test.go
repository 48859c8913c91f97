package traveler_test

import (
	"strings"
	"testing"

	. "tallywalk/traveler"
)

// FuzzParseRef: whatever is read or typed is a code with its check character
// right, or the text as it came; both read back as themselves.
func FuzzParseRef(f *testing.F) {
	c := string(someCode(KindBatch))
	for _, s := range []string{
		"", c, strings.ToLower(c), c + "/20", "HTTPS://SHOP.TEST:8443/S/" + c,
		"https://shop.test/s/" + c + "/20?x=1", c[:4] + "-" + c[4:],
		"WO-4711", "4711/2", "://s/", "/S/" + c, c + "/", c + "/00020", "\x00", "Ä" + c, "b0000000*",
		strings.Repeat("B", 300), "://S/" + c + "/S/" + c,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r := ParseRef(s)
		if r.Code == "" {
			if r.Text != strings.TrimSpace(s) || r.Op != 0 {
				t.Fatalf("ParseRef(%q) = %+v: text must stay as it came", s, r)
			}
			return
		}
		if r.Text != "" || r.Op < 0 || r.Op > MaxOp {
			t.Fatalf("ParseRef(%q) = %+v", s, r)
		}
		check, ok := CheckChar(string(r.Code[:8]))
		if !ok || len(r.Code) != 9 || r.Code[8] != check || !strings.ContainsRune("BMPAD", rune(r.Code[0])) {
			t.Fatalf("ParseRef(%q) = %+v: check character %q", s, r, check)
		}
		again := string(r.Code)
		if r.Op != 0 {
			again += "/" + r.Op.String()
		}
		if ParseRef(again) != r {
			t.Fatalf("%q does not read back as %+v", again, r)
		}
	})
}
