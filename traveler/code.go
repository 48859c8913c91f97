package traveler

import (
	"hash/fnv"
	"strings"
)

// Kind says what a code names: the first letter of every code.
type Kind byte

// The kinds of code.
const (
	KindBatch   Kind = 'B'
	KindMachine Kind = 'M'
	KindPerson  Kind = 'P'
	KindAction  Kind = 'A'
	KindDevice  Kind = 'D'
)

// Code names one batch, machine, person, action or device: a kind letter, seven
// Crockford base32 characters and one ISO/IEC 7064 MOD 37-2 check character.
// The zero value names nothing.
type Code string

const (
	codeLen   = 9
	crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
	mod37     = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
)

// PracticeCard is the card that stations practise with. It is given to no batch.
const PracticeCard Code = "BPRACT1CW"

// Kind returns the kind letter, or 0 for the empty code.
func (c Code) Kind() Kind {
	if c == "" {
		return 0
	}
	return Kind(c[0])
}

// CheckChar returns the ISO/IEC 7064 MOD 37-2 check character of s, which may
// hold digits and capital letters only; ok is false for anything else.
func CheckChar(s string) (check byte, ok bool) {
	p := 0
	for i := range len(s) {
		v := strings.IndexByte(mod37, s[i])
		if v < 0 || v == 36 {
			return 0, false
		}
		p = (p + v) * 2 % 37
	}
	return mod37[(38-p)%37], true
}

// NewCode makes the code of the given kind with the number n (its lowest 35
// bits). Codes whose check character falls outside the Crockford alphabet are
// not issued: ok is false, and the caller tries another number.
func NewCode(kind Kind, n uint64) (c Code, ok bool) {
	b := make([]byte, codeLen)
	b[0] = byte(kind)
	for i := 7; i >= 1; i-- {
		b[i] = crockford[n&31]
		n >>= 5
	}
	check, _ := CheckChar(string(b[:8]))
	if strings.IndexByte(crockford, check) < 0 {
		return "", false
	}
	b[8] = check
	return Code(b), true
}

// ReasonCode is the code of a reason on an action sheet: always the same for a reason of
// that name and kind, in every shop, so that a sheet stays good while a list changes.
func ReasonCode(kind, reason string) Code {
	h := fnv.New64a()
	_, _ = h.Write([]byte(kind + "/" + reason)) // a hash does not fail
	const reasons, tries = 1 << 34, 32          // the upper half of the numbers is theirs
	for i := range uint64(tries) {
		if c, ok := NewCode(KindAction, reasons|(h.Sum64()<<5&(reasons-1))|i); ok {
			return c
		}
	}
	return ""
}

// ParseCode reads a code as a person or a scanner gives it: any case, spaces
// and hyphens ignored, I and L read as 1 and O as 0 as Crockford has it. ok is
// false when it is no code or its check character does not fit.
func ParseCode(s string) (c Code, ok bool) {
	b := make([]byte, 0, codeLen)
	for i := range len(s) {
		ch := s[i]
		if ch == '-' || ch == ' ' {
			continue
		}
		if len(b) == codeLen {
			return "", false
		}
		if 'a' <= ch && ch <= 'z' {
			ch -= 'a' - 'A'
		}
		if len(b) > 0 {
			ch = likeCrockford(ch)
		}
		b = append(b, ch)
	}
	if len(b) != codeLen || !strings.ContainsRune("BMPAD", rune(b[0])) {
		return "", false
	}
	for _, ch := range b[1:] {
		if strings.IndexByte(crockford, ch) < 0 {
			return "", false
		}
	}
	check, _ := CheckChar(string(b[:8]))
	return Code(b), check == b[8]
}

func likeCrockford(ch byte) byte {
	switch ch {
	case 'I', 'L':
		return '1'
	case 'O':
		return '0'
	}
	return ch
}

// Ref is what was read or typed at a station: a code with, perhaps, an
// operation after it, or else Text, such as the shop's own works order number
// or a machine's short name.
type Ref struct {
	Code Code
	Op   Op
	Text string
}

// ParseRef reads a bare code, CODE/20, the card's URL in any case, or plain
// text. It never fails: what is no code is text.
func ParseRef(s string) Ref {
	s = strings.TrimSpace(s)
	body := s
	if i := max(strings.LastIndex(s, "/S/"), strings.LastIndex(s, "/s/")); i >= 0 &&
		strings.Contains(s, "://") {
		body = s[i+3:]
	}
	body, _, _ = strings.Cut(body, "?")
	head, tail, hasOp := strings.Cut(strings.TrimSuffix(body, "/"), "/")
	c, ok := ParseCode(head)
	if !ok {
		return Ref{Text: s}
	}
	if !hasOp {
		return Ref{Code: c}
	}
	op, ok := ParseOp(tail)
	if !ok {
		return Ref{Text: s}
	}
	return Ref{Code: c, Op: op}
}

// ParseOp reads an operation number of one to five digits, and says whether it was one.
func ParseOp(s string) (Op, bool) {
	if s == "" || len(s) > 5 {
		return 0, false
	}
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return Op(n), n > 0 && n <= MaxOp
}
