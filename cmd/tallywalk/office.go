package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/paper"
	"tallywalk/traveler/selfcheck"
	"tallywalk/traveler/story"
)

// mostVerified is how many batches have their figures worked out twice.
const mostVerified = 100_000

// verifyFigures works figures out twice and says whether both ways agree.
func (hs *house) verifyFigures(part string, out io.Writer) error {
	zone, err := hs.zone()
	if err != nil {
		return err
	}
	c, err := selfcheck.Figures(hs.desk, zone, story.FactQuery{Part: part}, nil, mostVerified)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d batches; %d too tangled for the plain way; of the others %d agree in everything.\n",
		c.Batches, c.Tangled, c.Same)
	for _, f := range c.Figures {
		word := "the same"
		if !f.Same {
			word = "differs"
		}
		fmt.Fprintf(out, "%-9s as shown %14.3f %-2s from the scans %14.3f %-2s %s\n", f.Name, f.Shown, f.Unit,
			f.Plain, f.Unit, word)
	}
	for _, x := range c.Differ {
		fmt.Fprintf(out, "batch %s: %s is %.3f as shown, %.3f from its scans, entries %s\n", x.Card, x.Figure,
			x.Shown, x.Plain, stretchesOf(x.Entries))
	}
	if n := len(c.Differ); n > 0 {
		return fmt.Errorf(
			"%d figures differ between the two ways of working them out: a fault of tallywalk, not of your data, which is whole; send the lines above to those who look after the program", n)
	}
	return nil
}

func cmdCards(h host, args []string) error {
	f := flags(h, "cards")
	dir := dataFlag(f)
	paper := f.String("paper", "A5", "A5, A4, or A4x2: two on an A4 sheet")
	to := f.String("out", "cards.pdf", "file to write; - for standard output")
	language := languageFlag(f, "of what is printed")
	refs, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if *paper != "A4" && *paper != "A5" && *paper != "A4x2" {
		return &usageError{"--paper is A5, A4 or A4x2"}
	}
	req := request{Do: "cards", Paper: *paper, Refs: refs, Language: *language}
	if *to == "-" {
		return at(h, *dir, req, nil)
	}
	return writeFile(h, *to, func(w host) error { return at(w, *dir, req, nil) })
}

// writeFile lets a command write to a file that appears only when it is whole.
func writeFile(h host, name string, do func(host) error) error {
	f, err := os.CreateTemp(dirOf(name), ".tallywalk-*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", name, err)
	}
	defer func() { _ = os.Remove(f.Name()) }()
	said := h.out
	h.out = f
	if err := do(h); err != nil {
		_ = f.Close()
		return err
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("%s cannot be written: %w", name, err)
	}
	if err := os.Chmod(f.Name(), 0o644); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), name); err != nil {
		return fmt.Errorf("%s cannot be written: %w", name, err)
	}
	_, err = fmt.Fprintln(said, "written:", name)
	return err
}

func dirOf(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		return name[:i+1]
	}
	return "."
}

func (hs *house) doCards(req request, out io.Writer) error {
	set, err := hs.settings()
	if err != nil {
		return err
	}
	if set.PublicURL == "" {
		return fmt.Errorf(
			"the address on the cards is not fixed yet; run `tallywalk serve --public-url URL` once before the first card")
	}
	zone, err := zoneOf(set.Zone)
	if err != nil {
		return err
	}
	cards, err := hs.wanted(req.Refs)
	if err != nil {
		return err
	}
	var printed []paper.Printed
	for _, c := range cards {
		f, err := hs.desk.Family(c)
		if err != nil {
			return err
		}
		printed = append(printed, paper.PrintedOf(hs.desk, f, f.Index(c), set.base(), hs.host.now().In(zone)))
	}
	if len(printed) == 0 {
		return fmt.Errorf("no batch is open; import batches first")
	}
	w := bufio.NewWriter(out)
	if err := hs.printing(set)(w, printed, req.Paper, cmp.Or(req.Language, set.Language)); err != nil {
		return err
	}
	return w.Flush()
}

// wanted finds the batches meant; none named means all that are open.
func (hs *house) wanted(refs []string) ([]traveler.Code, error) {
	var out []traveler.Code
	for _, ref := range refs {
		cards := hs.desk.FindCard(ref)
		if len(cards) == 0 {
			return nil, traveler.Fail(traveler.KindNotFound, "card.unknown", ref)
		}
		out = append(out, cards...)
	}
	if len(refs) > 0 {
		return out, nil
	}
	hs.desk.Open(func(f *story.Family) bool {
		for i := range f.Batches {
			if s := f.State(i); s != story.StateDone && s != story.StateCancelled {
				out = append(out, f.Batches[i].Card)
			}
		}
		return true
	})
	slices.Sort(out)
	return out, nil
}

// stretchesOf writes sequences in order as stretches: 4-9, 12.
func stretchesOf(seqs []traveler.Seq) string {
	var out []string
	for i := 0; i < len(seqs); {
		k := i
		for k+1 < len(seqs) && seqs[k+1] == seqs[k]+1 {
			k++
		}
		text := fmt.Sprint(seqs[i])
		if k > i {
			text += fmt.Sprintf("-%d", seqs[k])
		}
		out = append(out, text)
		i = k + 1
	}
	return strings.Join(out, ", ")
}
