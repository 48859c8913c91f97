// Package people knows who has which badge, and keeps the codes of badges out of
// the record and of every answer.
package people

import (
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
)

// unknownBadge stands for a code that is nobody's.
const unknownBadge = "unknown badge"

// Badges says whose a badge is or was. It reads of the tables what is needed
// when it is, and is for one answer or one list.
type Badges struct {
	t     story.Tables
	whole bool // all was read
	owner map[traveler.Code]traveler.PersonID
	names map[traveler.PersonID]string
}

// NewBadges gives the badges as the tables have them.
func NewBadges(t story.Tables) *Badges {
	return &Badges{t: t, owner: map[traveler.Code]traveler.PersonID{}, names: map[traveler.PersonID]string{}}
}

// load reads the tables. What cannot be read leaves every code unknown, which
// hides it.
func (b *Badges) load() {
	if b.whole {
		return
	}
	b.whole = true
	old, err := rows.All[oldBadge](b.t, tableBadges)
	if err != nil {
		return
	}
	for code, x := range old {
		b.owner[traveler.Code(code)] = x.Person
	}
	people, err := rows.All[Person](b.t, tablePeople)
	if err != nil {
		return
	}
	for _, p := range people {
		b.owner[p.Code], b.names[p.ID] = p.ID, p.Name
	}
}

// BadgeCode reads a text as the code of a badge.
func BadgeCode(s string) (traveler.Code, bool) {
	c, ok := traveler.ParseCode(s)
	return c, ok && c.Kind() == traveler.KindPerson
}

// Owner says whose a badge is or was; empty when nobody knows.
func (b *Badges) Owner(code traveler.Code) traveler.PersonID {
	id, known := b.owner[code]
	if !known && !b.whole {
		id = ownerIn(b.t, code)
		b.owner[code] = id
	}
	return id
}

// ownerIn looks one code up: a scan that is sent needs no more.
func ownerIn(t story.Tables, code traveler.Code) traveler.PersonID {
	for _, table := range []string{tablePeople, tableBadges} { // both rows say person
		var of oldBadge
		if there, err := rows.Read(t, table, string(code), &of); err == nil && there {
			return of.Person
		}
	}
	return ""
}

// NameOf is someone's name by number, or by badge where a record from before has
// one; empty when nobody knows.
func (b *Badges) NameOf(id traveler.PersonID) string {
	b.load()
	return b.names[b.Number(id)]
}

// codes are all that someone's badges ever had.
func (b *Badges) codes(id traveler.PersonID) (out []traveler.Code) {
	b.load()
	for code, owner := range b.owner {
		if owner == id && id != "" {
			out = append(out, code)
		}
	}
	slices.Sort(out)
	return out
}

// Number is someone by number, whatever the record has.
func (b *Badges) Number(id traveler.PersonID) traveler.PersonID {
	code, ok := BadgeCode(string(id))
	if !ok {
		return id
	}
	if owner := b.Owner(code); owner != "" {
		return owner
	}
	return unknownBadge
}

// Numbers is people by number, each once.
func (b *Badges) Numbers(ids []traveler.PersonID) []traveler.PersonID {
	var out []traveler.PersonID
	for _, id := range ids {
		if n := b.Number(id); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// Text is a text with the numbers of people in place of the codes of their
// badges, which a scanner types wherever the cursor stands: in the middle of a
// word as well. A code that someone typed in groups is one, too.
func (b *Badges) Text(s string) string {
	if !strings.ContainsAny(s, "Pp") {
		return s
	}
	var out strings.Builder
	for i := 0; i < len(s); {
		if n, owner := b.codeAt(s[i:]); n > 0 {
			out.WriteString(string(owner))
			i += n
			continue
		}
		out.WriteByte(s[i])
		i++
	}
	return out.String()
}

// codeAt says whose badge's code a text begins with, and how long that is; 0
// when it begins with none.
func (b *Badges) codeAt(s string) (n int, owner traveler.PersonID) {
	if s[0] != 'P' && s[0] != 'p' {
		return 0, ""
	}
	for chars := 0; n < len(s) && chars < codeChars; n++ {
		switch grouped := s[n] == '-' || s[n] == ' '; {
		case isWord(s[n]):
			chars++
		case !grouped || !isWord(s[n-1]):
			return 0, ""
		}
	}
	code, ok := BadgeCode(s[:n])
	if !ok {
		return 0, ""
	}
	if owner = b.Owner(code); owner == "" {
		return 0, ""
	}
	return n, owner
}

// codeChars is the number of characters of a code.
const codeChars = 9

func isWord(c byte) bool { return '0' <= c && c <= '9' || 'A' <= c && c <= 'Z' || 'a' <= c && c <= 'z' }

// Msg is a sentence without codes of badges.
func (b *Badges) Msg(m traveler.Msg) traveler.Msg {
	if len(m.Args) == 0 {
		return m
	}
	args := make([]string, len(m.Args))
	for i, a := range m.Args {
		args[i] = b.Text(a)
	}
	return traveler.Msg{Key: m.Key, Args: args}
}

// Scan is a scan without codes of badges: the same, or a copy.
func (b *Badges) Scan(s *traveler.Scan) *traveler.Scan {
	n := *s
	n.Operator = b.Number(s.Operator)
	for _, text := range []*string{&n.Card, &n.For, &n.To, &n.Reason, &n.Note, &n.Station} {
		*text = b.Text(*text)
	}
	n.Scrap, n.Rework, n.Review = b.losses(s.Scrap), b.losses(s.Rework), b.losses(s.Review)
	return &n
}

// losses are losses without codes of badges in their reasons.
func (b *Badges) losses(in []traveler.Loss) []traveler.Loss {
	out := slices.Clone(in)
	for i := range out {
		out[i].Reason = b.Text(out[i].Reason)
	}
	return out
}

// Facts gives the figures of a desk without codes of badges in their reasons,
// of which there are few. It fails as the desk does.
func (b *Badges) Facts(d story.Desk, q story.FactQuery, yield func(*story.BatchFact) bool) error {
	if q.Bare {
		return d.Facts(q, yield) // without reasons
	}
	b.load() // not while they are read, see Entries
	seen := map[string]string{}
	plain := func(reason string) string {
		text, ok := seen[reason]
		if !ok {
			text = b.Text(reason)
			seen[reason] = text
		}
		return text
	}
	return d.Facts(q, func(f *story.BatchFact) bool { return yield(withReasons(f, plain)) })
}

// withReasons is a batch with other reasons: the same where none changes, else a
// copy.
func withReasons(f *story.BatchFact, text func(string) string) *story.BatchFact {
	same := true
	for i := range f.Visits {
		v := &f.Visits[i]
		same = same && !slices.ContainsFunc(
			v.Losses, func(l story.LossFact) bool { return text(l.Reason) != l.Reason },
		) &&
			!slices.ContainsFunc(v.Stops, func(s story.StopFact) bool { return text(s.Reason) != s.Reason })
	}
	if same {
		return f
	}
	n := *f
	n.Visits = slices.Clone(f.Visits)
	for i := range n.Visits {
		v := &n.Visits[i]
		v.Losses, v.Stops = slices.Clone(v.Losses), slices.Clone(v.Stops)
		for j := range v.Losses {
			v.Losses[j].Reason = text(v.Losses[j].Reason)
		}
		for j := range v.Stops {
			v.Stops[j].Reason = text(v.Stops[j].Reason)
		}
	}
	return &n
}

// entry is an entry of the record without codes of badges.
func (b *Badges) entry(e *traveler.Entry) *traveler.Entry {
	if e.Scan == nil {
		return e
	}
	n := *e
	n.Scan, n.Say = b.Scan(e.Scan), b.Msg(e.Say)
	return &n
}

// withoutBadges is a desk whose record has no codes of badges; for exports.
type withoutBadges struct {
	story.Desk
	badges *Badges
}

// WithoutBadges gives a desk for lists that leave the house: its record and its
// figures have no codes of badges.
func WithoutBadges(d story.Desk, t story.Tables) story.Desk {
	return withoutBadges{d, NewBadges(t)}
}

// Entries reads the record from a sequence on. It fails as the record does.
func (d withoutBadges) Entries(from traveler.Seq, yield func(*traveler.Entry) bool) error {
	d.badges.load() // not while the record is read: a read in a read waits for a writer that waits for it
	return d.Desk.Entries(from, func(e *traveler.Entry) bool { return yield(d.badges.entry(e)) })
}

// Facts gives the figures of batches. It fails as the record does.
func (d withoutBadges) Facts(q story.FactQuery, yield func(*story.BatchFact) bool) error {
	return d.badges.Facts(d.Desk, q, yield)
}
