package store

import (
	"encoding/base64"
	"encoding/json"
	"strconv"

	"tallywalk/traveler"
)

// pen writes one JSON object, member by member, after what its bytes hold.
// Keys are plain. The first error stays.
type pen struct {
	b   []byte
	err error
}

func (p *pen) open()  { p.b = append(p.b, '{') }
func (p *pen) close() { p.b = append(p.b, '}') }

func (p *pen) key(k string) {
	if p.b[len(p.b)-1] != '{' {
		p.b = append(p.b, ',')
	}
	p.b = append(append(append(p.b, '"'), k...), '"', ':')
}

// must writes a number even if it is zero; int and uint leave zero out.
func (p *pen) must(k string, n int64) {
	p.key(k)
	p.b = strconv.AppendInt(p.b, n, 10)
}

func (p *pen) int(k string, n int64) {
	if n != 0 {
		p.must(k, n)
	}
}

func (p *pen) uint(k string, n uint64) {
	if n != 0 {
		p.key(k)
		p.b = strconv.AppendUint(p.b, n, 10)
	}
}

func (p *pen) number(k string, n *int) {
	if n != nil {
		p.must(k, int64(*n))
	}
}

func (p *pen) bool(k string, v bool) {
	p.key(k)
	p.b = strconv.AppendBool(p.b, v)
}

// text writes a string even if it is empty; some leaves an empty one out.
func (p *pen) text(k, s string) {
	p.key(k)
	p.quote(s)
}

func (p *pen) some(k, s string) {
	if s != "" {
		p.text(k, s)
	}
}

// quote writes plain ASCII itself and leaves the rest to encoding/json.
func (p *pen) quote(s string) {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c >= 0x7f || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			p.value(s)
			return
		}
	}
	p.b = append(append(append(p.b, '"'), s...), '"')
}

func (p *pen) json(k string, v any) {
	p.key(k)
	p.value(v)
}

func (p *pen) value(v any) {
	data, err := json.Marshal(v)
	p.b = append(p.b, data...)
	p.fail(err)
}

// id writes a UUID in 22 characters. With an empty key it only checks that it
// is one.
func (p *pen) id(k string, id traveler.ScanID) {
	raw, err := rawID(id)
	if p.fail(err); err != nil || k == "" {
		return
	}
	p.key(k)
	p.b = append(base64.RawURLEncoding.AppendEncode(append(p.b, '"'), raw[:]), '"')
}

func (p *pen) fail(err error) {
	if p.err == nil {
		p.err = err
	}
}
