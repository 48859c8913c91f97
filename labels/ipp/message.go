package ipp

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Delimiters of groups and kinds of values (RFC 8010, 3.5.1 and 3.5.2).
const (
	groupOperation = 0x01
	groupJob       = 0x02
	groupEnd       = 0x03
	groupPrinter   = 0x04
	lastDelimiter  = 0x0f

	tagInteger         = 0x21
	tagBoolean         = 0x22
	tagEnum            = 0x23
	tagBeginCollection = 0x34
	tagEndCollection   = 0x37
	tagTextLanguage    = 0x35
	tagNameLanguage    = 0x36
	tagText            = 0x41
	tagName            = 0x42
	tagKeyword         = 0x44
	tagURI             = 0x45
	tagCharset         = 0x47
	tagLanguage        = 0x48
	tagMedia           = 0x49
)

// value is one value of an attribute: its kind and its bytes.
type value struct {
	tag  byte
	data []byte
}

// attribute is a name with its values; of a collection there is the outside only.
type attribute struct {
	name   string
	values []value
}

// group is attributes of one thing: of the operation, a job or a printer.
type group struct {
	tag   byte
	attrs []attribute
}

// message is a request or an answer without the document after it. code is that of
// the operation or of the status.
type message struct {
	code   int
	id     int
	groups []group
}

// encode writes a message as RFC 8010, 3.1 has it, version 1.1.
func (m *message) encode() []byte {
	b := []byte{1, 1}
	b = binary.BigEndian.AppendUint16(b, uint16(m.code))
	b = binary.BigEndian.AppendUint32(b, uint32(m.id))
	for _, g := range m.groups {
		b = append(b, g.tag)
		for _, a := range g.attrs {
			name := a.name
			for _, v := range a.values {
				b = append(b, v.tag)
				b = appendShort(b, []byte(name))
				b = appendShort(b, v.data)
				name = "" // a further value has none
			}
		}
	}
	return append(b, groupEnd)
}

// appendShort writes the length in two bytes, and the bytes. Nothing that this client
// says is longer.
func appendShort(b, data []byte) []byte {
	data = data[:min(len(data), 1<<16-1)]
	b = binary.BigEndian.AppendUint16(b, uint16(len(data)))
	return append(b, data...)
}

func texts(name string, tag byte, all ...string) attribute {
	a := attribute{name: name}
	for _, s := range all {
		a.values = append(a.values, value{tag, []byte(s)})
	}
	return a
}

func number(name string, tag byte, n int) attribute {
	return attribute{name, []value{{tag, binary.BigEndian.AppendUint32(nil, uint32(n))}}}
}

func boolean(name string, is bool) attribute {
	b := byte(0)
	if is {
		b = 1
	}
	return attribute{name, []value{{tagBoolean, []byte{b}}}}
}

var errShort = errors.New("the answer ends before its time")

// reader takes apart what a printer answered.
type reader struct{ rest []byte }

func (r *reader) take(n int) ([]byte, error) {
	if n < 0 || n > len(r.rest) {
		return nil, errShort
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b, nil
}

func (r *reader) short() ([]byte, error) {
	n, err := r.take(2)
	if err != nil {
		return nil, err
	}
	return r.take(int(binary.BigEndian.Uint16(n)))
}

// decode reads an answer. It fails when the bytes are none: cut short, an attribute
// outside a group, a further value of no attribute, or a collection that does not end.
func decode(b []byte) (*message, error) {
	r := &reader{b}
	head, err := r.take(8)
	if err != nil {
		return nil, err
	}
	if head[0] < 1 || head[0] > 2 {
		return nil, fmt.Errorf("version %d.%d of the protocol is not known", head[0], head[1])
	}
	m := &message{code: int(binary.BigEndian.Uint16(head[2:])), id: int(binary.BigEndian.Uint32(head[4:]))}
	for {
		tag, err := r.take(1)
		if err != nil {
			return nil, err
		}
		switch {
		case tag[0] == groupEnd:
			return m, nil
		case tag[0] <= lastDelimiter:
			m.groups = append(m.groups, group{tag: tag[0]})
		default:
			if err := m.attribute(r, tag[0]); err != nil {
				return nil, err
			}
		}
	}
}

// attribute reads one value after its tag, into the attribute that it belongs to.
func (m *message) attribute(r *reader, tag byte) error {
	name, err := r.short()
	if err != nil {
		return err
	}
	data, err := r.short()
	if err != nil {
		return err
	}
	if tag == tagBeginCollection {
		if err := r.skipCollection(); err != nil {
			return err
		}
	}
	if len(m.groups) == 0 {
		return errors.New("an attribute stands outside a group")
	}
	g := &m.groups[len(m.groups)-1]
	if len(name) > 0 {
		g.attrs = append(g.attrs, attribute{name: string(name)})
	}
	if len(g.attrs) == 0 {
		return errors.New("a further value belongs to no attribute")
	}
	a := &g.attrs[len(g.attrs)-1]
	a.values = append(a.values, value{tag, data})
	return nil
}

// skipCollection reads on to the end of a collection, and of those within it.
func (r *reader) skipCollection() error {
	for deep := 1; deep > 0; {
		tag, err := r.take(1)
		if err != nil {
			return err
		}
		if tag[0] <= lastDelimiter {
			return errors.New("a collection does not end")
		}
		for range 2 {
			if _, err := r.short(); err != nil {
				return err
			}
		}
		switch tag[0] {
		case tagBeginCollection:
			deep++
		case tagEndCollection:
			deep--
		}
	}
	return nil
}

// get finds an attribute in a group; nil when there is none.
func (g *group) get(name string) []value {
	for i := range g.attrs {
		if g.attrs[i].name == name {
			return g.attrs[i].values
		}
	}
	return nil
}

// text is a value as text: without its language, where it has one.
func (v value) text() string {
	b := v.data
	if v.tag == tagTextLanguage || v.tag == tagNameLanguage {
		r := reader{b}
		if _, err := r.short(); err != nil {
			return ""
		}
		inner, err := r.short()
		if err != nil {
			return ""
		}
		b = inner
	}
	return clean(string(b))
}

func (g *group) texts(name string) (all []string) {
	for _, v := range g.get(name) {
		if v.tag >= tagTextLanguage { // what is below is no text
			all = append(all, v.text())
		}
	}
	return all
}

func (g *group) text(name string) string {
	if all := g.texts(name); len(all) > 0 {
		return all[0]
	}
	return ""
}

// number is the first value as a number, or otherwise.
func (g *group) number(name string, otherwise int) int {
	for _, v := range g.get(name) {
		if len(v.data) == 4 && (v.tag == tagInteger || v.tag == tagEnum) {
			return int(int32(binary.BigEndian.Uint32(v.data)))
		}
	}
	return otherwise
}

// numbers are all values that are numbers.
func (g *group) numbers(name string) (all []int) {
	for _, v := range g.get(name) {
		if len(v.data) == 4 {
			all = append(all, int(int32(binary.BigEndian.Uint32(v.data))))
		}
	}
	return all
}

func (g *group) is(name string, otherwise bool) bool {
	for _, v := range g.get(name) {
		if len(v.data) == 1 && v.tag == tagBoolean {
			return v.data[0] != 0
		}
	}
	return otherwise
}

// of gives the groups of a kind.
func (m *message) of(tag byte) (all []*group) {
	for i := range m.groups {
		if m.groups[i].tag == tag {
			all = append(all, &m.groups[i])
		}
	}
	return all
}

// first is the first group of a kind; an empty one when there is none.
func (m *message) first(tag byte) *group {
	if all := m.of(tag); len(all) > 0 {
		return all[0]
	}
	return &group{tag: tag}
}
