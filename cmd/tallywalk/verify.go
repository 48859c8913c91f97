package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/intake"
)

func cmdVerify(h host, args []string) error {
	f := flags(h, "verify")
	dir := dataFlag(f)
	figures := f.Bool("figures", false, "also work figures out a second, plain way from the scans")
	part := f.String("part", "", "with --figures: of this part only")
	against := f.String("against", "", "a copy, or scans that were exported: the record must hold all that they hold")
	var heads []string
	f.Func("head", "an end of before, `SEQ:HASH`, as backups, exports and cards say it: the record must have it; may be repeated", func(s string) error {
		heads = append(heads, s)
		_, _, err := store.ParseHead(s)
		return err
	})
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	req := request{Do: "verify", Figures: *figures, Part: *part, Heads: heads}
	if *against == "" {
		return at(h, *dir, req, nil)
	}
	head, err := headOfCopy(*against)
	if err == nil {
		req.Heads = append(req.Heads, head)
		return at(h, *dir, req, nil)
	}
	if te := (*traveler.Error)(nil); !errors.As(err, &te) || te.Say.Key != "store.foreign" {
		return err
	}
	in, err := os.Open(*against)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	req.Against = *against
	return at(h, *dir, req, in)
}

// headOfCopy is the end of a copy of a data file.
func headOfCopy(name string) (string, error) {
	c, err := store.OpenCopy(name)
	if err != nil {
		return "", err
	}
	return c.HeadText(), c.Close()
}

func (hs *house) doVerify(req request, in io.Reader, out io.Writer) error {
	report, err := store.Verify(hs.log)
	if err != nil {
		return err
	}
	if report.Entries == 0 {
		return errors.New("the record is empty: nothing was ever kept in it, so there is nothing to check; name the folder of the shop's data")
	}
	for _, text := range req.Heads {
		seq, link, err := store.ParseHead(text)
		if err != nil {
			return err
		}
		if err := store.VerifyHead(hs.log, seq, link); err != nil {
			return err
		}
	}
	if req.Against != "" {
		n, err := hs.holds(req.Against, in)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "All %s scans of %s are in the record.\n", grouped(n), req.Against)
	}
	fmt.Fprintf(out, "The record is whole: %d entries, %d ids, head %s.\n", report.Entries, report.IDs, report.HeadText())
	if !req.Figures {
		return nil
	}
	return hs.verifyFigures(req.Part, out)
}

// holds compares the scans of an export with the record, some at a time, and
// says how many there were.
func (hs *house) holds(name string, in io.Reader) (n int, err error) {
	var part []intake.Kept
	compare := func() error {
		if len(part) == 0 {
			return nil
		}
		err := hs.same(name, part)
		n, part = n+len(part), part[:0]
		return err
	}
	var fault error
	err = intake.ReadScans(name, in, func(k *intake.Kept) bool {
		if part = append(part, *k); len(part) == scansAtOnce {
			fault = compare()
		}
		return fault == nil
	})
	if err = errors.Join(fault, err); err == nil {
		err = compare()
	}
	if err == nil && n == 0 {
		err = fmt.Errorf("%s has no scans in it, so there is nothing to compare", name)
	}
	return n, err
}

func (hs *house) same(name string, part []intake.Kept) error {
	end, _ := hs.log.Head()
	seqs := make([]traveler.Seq, len(part))
	for i := range part {
		if seqs[i] = part[i].Seq; seqs[i] == 0 {
			return fmt.Errorf("%s:%d: no sequence stands here, so it cannot be compared", name, part[i].Line)
		}
		if seqs[i] > end {
			return traveler.Fail(traveler.KindCorrupt, "store.verify.cut", fmt.Sprint(end), fmt.Sprint(seqs[i]))
		}
	}
	entries, err := hs.log.Get(seqs)
	if err != nil {
		return err
	}
	for i, e := range entries {
		if k := &part[i]; e.ID() != k.Scan.ID || e.Outcome != k.Taken.Outcome || e.Card != k.Taken.Card {
			return traveler.Fail(traveler.KindCorrupt, "store.verify.other", fmt.Sprint(seqs[i]))
		}
	}
	return nil
}

// doHead says where the record ends, to be kept with what leaves the house.
func (hs *house) doHead(out io.Writer) error {
	if hs.file == nil {
		return nil
	}
	_, err := fmt.Fprintf(out, "The record ends at %s; `tallywalk verify --head` compares that.\n", hs.file.HeadText())
	return err
}
