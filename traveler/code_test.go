package traveler_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	. "tallywalk/traveler"
)

// The vectors are ISO/IEC 7064 MOD 37-2 check characters of blood donation
// numbers, as published for ISBT 128 (G123498654321 and its swap) and of a
// second issuer (A999915000001).
func TestCheckCharVectors(t *testing.T) {
	for s, want := range map[string]byte{"G123498654321": 'H', "G123489654321": 'Y', "A999915000001": 'M'} {
		if got, ok := CheckChar(s); !ok || got != want {
			t.Errorf("CheckChar(%q) = %q, %v; want %q", s, got, ok, want)
		}
	}
	for _, s := range []string{"*", "a", "1-2", "é"} {
		if got, ok := CheckChar(s); ok {
			t.Errorf("CheckChar(%q) = %q; it holds what the standard does not know", s, got)
		}
	}
}

// In 20,000 random words of eight characters MOD 37-2 misses no swap of
// neighbours: 2 has the order 36 modulo 37, so two places never weigh the same.
func TestSwapsAreFound(t *testing.T) {
	const letters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	rng := rand.New(rand.NewPCG(7064, 37))
	swaps := 0
	for range 20000 {
		b := make([]byte, 8)
		for i := range b {
			b[i] = letters[rng.IntN(len(letters))]
		}
		check, _ := CheckChar(string(b))
		i := rng.IntN(7)
		if b[i] == b[i+1] {
			continue
		}
		swaps++
		before := string(b)
		b[i], b[i+1] = b[i+1], b[i]
		if again, _ := CheckChar(string(b)); again == check {
			t.Fatalf("the swap of %s to %s keeps the check character %q", before, b, check)
		}
	}
	if swaps < 19000 {
		t.Fatalf("only %d swaps were tried", swaps)
	}
}

func TestCodesReadBack(t *testing.T) {
	issued := 0
	for n := range uint64(4000) {
		c, ok := NewCode(KindBatch, n*7919)
		if !ok {
			continue
		}
		issued++
		if got, ok := ParseCode(string(c)); !ok || got != c || got.Kind() != KindBatch {
			t.Fatalf("%s reads back as %s, %v", c, got, ok)
		}
		if strings.ContainsAny(string(c), "ILOU*") {
			t.Fatalf("%s holds a character outside the alphabet", c)
		}
		for i := range 7 {
			if c[i] == c[i+1] || i == 0 {
				continue
			}
			b := []byte(c)
			b[i], b[i+1] = b[i+1], b[i]
			if _, ok := ParseCode(string(b)); ok {
				t.Fatalf("%s is taken for a code; %s was printed", b, c)
			}
		}
	}
	// 32 of 37 check characters can be printed.
	if issued < 3200 || issued > 3700 {
		t.Errorf("%d of 4000 numbers gave a code; about 3459 should", issued)
	}
}

func TestParseRef(t *testing.T) {
	c := someCode(KindBatch)
	lower, parts := strings.ToLower(string(c)), string(c[:3])+"-"+string(c[3:6])+" "+string(c[6:])
	broken := []byte(c)
	broken[3], broken[4] = broken[4], broken[3]
	for s, want := range map[string]Ref{
		string(c):                               {Code: c},
		"  " + string(c) + "\r\n":               {Code: c},
		lower:                                   {Code: c},
		parts:                                   {Code: c},
		string(c) + "/20":                       {Code: c, Op: 20},
		lower + "/99999":                        {Code: c, Op: 99999},
		"HTTPS://SHOP.TEST:8443/S/" + string(c): {Code: c},
		"https://shop.test/s/" + lower:          {Code: c},
		"Http://Shop.Test/S/" + lower + "/":     {Code: c},
		"http://192.0.2.7:8080/s/" + string(c) + "/30": {Code: c, Op: 30},
		"https://shop.test/s/" + lower + "?from=phone": {Code: c},
		"WO-4711":                              {Text: "WO-4711"},
		"4711/2":                               {Text: "4711/2"},
		"L1":                                   {Text: "L1"},
		"Bestellung 12-B":                      {Text: "Bestellung 12-B"},
		string(c) + "/0":                       {Text: string(c) + "/0"},
		string(c) + "/100000":                  {Text: string(c) + "/100000"},
		string(c) + "/2x":                      {Text: string(c) + "/2x"},
		string(broken):                         {Text: string(broken)},
		string(c) + "1":                        {Text: string(c) + "1"},
		"https://shop.test/other/" + string(c): {Text: "https://shop.test/other/" + string(c)},
		"":                                     {},
	} {
		if got := ParseRef(s); got != want {
			t.Errorf("ParseRef(%q) = %+v, want %+v", s, got, want)
		}
	}
}

// Crockford's alphabet reads I and L as 1, and O as 0.
func TestLookAlikes(t *testing.T) {
	var c Code
	for n := uint64(0); !strings.Contains(string(c), "10"); n++ {
		c, _ = NewCode(KindMachine, 1<<20+n)
	}
	for _, like := range []string{"IO", "LO", "lo", "iO", "l0"} {
		s := strings.Replace(string(c), "10", like, 1)
		if got, ok := ParseCode(s); !ok || got != c {
			t.Errorf("ParseCode(%q) = %q, %v; want %q", s, got, ok, c)
		}
	}
}

func someCode(kind Kind) Code {
	n := uint64(123456789)
	for {
		if c, ok := NewCode(kind, n); ok && c[3] != c[4] {
			return c
		}
		n++
	}
}
