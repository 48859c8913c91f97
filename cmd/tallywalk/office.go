package main

import (
	"bufio"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/web"
)

func cmdVerify(h host, args []string) error {
	f := flags(h, "verify")
	dir := dataFlag(f)
	if _, err := parse(h, f, args); err != nil {
		return err
	}
	return at(h, *dir, request{Do: "verify"}, nil)
}

func (hs *house) doVerify(out io.Writer) error {
	report, err := store.Verify(hs.file)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "The record is whole: %d entries, %d ids, head %s.\n", report.Entries, report.IDs, hex.EncodeToString(report.Link[:]))
	return err
}

func cmdToken(h host, args []string) error {
	f := flags(h, "token")
	dir := dataFlag(f)
	role := f.String("role", "", "operator, inspector, supervisor, planner or administrator (needed)")
	name := f.String("name", "", "what the token is for (the role)")
	if _, err := parse(h, f, args); err != nil {
		return err
	}
	if r := traveler.Role(*role); !r.Valid() || r == traveler.RoleWatcher {
		return &usageError{"say --role and operator, inspector, supervisor, planner or administrator"}
	}
	return at(h, *dir, request{Do: "token", Role: *role, Name: *name}, nil)
}

func (hs *house) doToken(req request, out io.Writer) error {
	b := make([]byte, 32)
	if _, err := io.ReadFull(hs.host.rand, b); err != nil {
		return err
	}
	secret := "tw_" + hex.EncodeToString(b)
	name := req.Name
	if name == "" {
		name = "token " + req.Role
	}
	if err := web.KeepToken(hs.tables, secret, name, traveler.Role(req.Role), hs.host.now().UTC()); err != nil {
		return err
	}
	_, err := fmt.Fprintln(out, secret)
	return err
}

func cmdCards(h host, args []string) error {
	f := flags(h, "cards")
	dir := dataFlag(f)
	paper := f.String("paper", "A5", "A5 or A4")
	to := f.String("out", "cards.pdf", "file to write; - for standard output")
	refs, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if *paper != "A4" && *paper != "A5" {
		return &usageError{"--paper is A4 or A5"}
	}
	if *to == "-" {
		return at(h, *dir, request{Do: "cards", Paper: *paper, Refs: refs}, nil)
	}
	return writeFile(h, *to, func(w host) error { return at(w, *dir, request{Do: "cards", Paper: *paper, Refs: refs}, nil) })
}

// writeFile lets a command write to a file that appears only when it is whole.
func writeFile(h host, name string, do func(host) error) error {
	f, err := os.CreateTemp(dirOf(name), ".tallywalk-*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", name, err)
	}
	defer func() { _ = os.Remove(f.Name()) }()
	told := h.out
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
	_, err = fmt.Fprintln(told, "written:", name)
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
		return fmt.Errorf("the address on the cards is not fixed yet; run `tallywalk serve --public-url URL` once before the first card")
	}
	zone, err := zoneOf(set.Zone)
	if err != nil {
		return err
	}
	cards, err := hs.wanted(req.Refs)
	if err != nil {
		return err
	}
	var printed []web.Printed
	for _, c := range cards {
		f, err := hs.desk.Family(c)
		if err != nil {
			return err
		}
		printed = append(printed, web.PrintedOf(hs.desk, f, f.Index(c), set.PublicURL, hs.host.now().In(zone)))
	}
	if len(printed) == 0 {
		return fmt.Errorf("no batch is open; import batches first")
	}
	w := bufio.NewWriter(out)
	if err := hs.printing(set)(w, printed, req.Paper); err != nil {
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
	hs.desk.Open(func(f *traveler.Family) bool {
		for i := range f.Batches {
			if s := f.State(i); s != traveler.StateDone && s != traveler.StateCancelled {
				out = append(out, f.Batches[i].Card)
			}
		}
		return true
	})
	slices.Sort(out)
	return out, nil
}

func cmdExport(h host, args []string) error {
	f := flags(h, "export")
	dir := dataFlag(f)
	format := f.String("format", "jsonl", "jsonl or csv")
	to := f.String("out", "-", "file to write; - for standard output")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if len(words) != 1 || words[0] != "scans" {
		return &usageError{"say what is exported: scans"}
	}
	if *format != "jsonl" && *format != "csv" {
		return &usageError{"--format is jsonl or csv"}
	}
	req := request{Do: "export", Kind: "scans", Format: *format}
	if *to == "-" {
		return at(h, *dir, req, nil)
	}
	return writeFile(h, *to, func(w host) error { return at(w, *dir, req, nil) })
}

// exported is a scan as it is written out: what was said, and how it was taken.
type exported struct {
	Seq     traveler.Seq       `json:"seq"`
	Arrived time.Time          `json:"arrived"`
	By      string             `json:"by"`
	Role    traveler.Role      `json:"role"`
	Outcome traveler.Outcome   `json:"outcome"`
	Batch   traveler.Code      `json:"batch,omitempty"`
	Machine traveler.MachineID `json:"machine,omitempty"`
	Issued  traveler.Code      `json:"other,omitempty"`
	Scan    *traveler.Scan     `json:"scan"`
}

func (hs *house) doExport(req request, out io.Writer) error {
	w := bufio.NewWriter(out)
	enc, table := json.NewEncoder(w), csv.NewWriter(w)
	if req.Format == "csv" {
		if err := table.Write(csvHead); err != nil {
			return err
		}
	}
	var werr error
	err := hs.desk.Entries(1, func(e *traveler.Entry) bool {
		if e.Scan == nil {
			return true
		}
		if req.Format == "csv" {
			werr = table.Write(csvLine(e))
		} else {
			werr = enc.Encode(exported{e.Seq, e.Arrived, e.By.Name, e.By.Role, e.Outcome, e.Card, e.Machine, e.Other, e.Scan})
		}
		return werr == nil
	})
	table.Flush()
	if err == nil {
		err = werr
	}
	if err == nil {
		err = table.Error()
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

var csvHead = []string{
	"seq", "id", "at", "arrived", "happened", "station", "card", "batch", "action", "operator", "operation", "phase", "good", "scrap", "rework",
	"review", "missing", "reads", "pieces", "to", "for", "reason", "anyway", "note", "device", "n", "offset_ms", "within_ms", "outcome", "by", "role",
}

func csvLine(e *traveler.Entry) []string {
	s := e.Scan
	happened := ""
	if s.Happened != nil {
		happened = s.Happened.UTC().Format(time.RFC3339Nano)
	}
	number := func(p *int) string {
		if p == nil {
			return ""
		}
		return strconv.Itoa(*p)
	}
	line := []string{
		strconv.FormatUint(uint64(e.Seq), 10), string(s.ID), s.At.UTC().Format(time.RFC3339Nano), e.Arrived.Format(time.RFC3339Nano), happened,
		s.Station, s.Card, string(e.Card), string(s.Action), string(s.Operator), s.Operation.String(), s.Phase, number(s.Good),
		lossText(s.Scrap), lossText(s.Rework), lossText(s.Review), number(s.Missing), number(s.Reads), strconv.Itoa(s.Pieces), s.To, s.For,
		s.Reason, strconv.FormatBool(s.Anyway), s.Note, string(s.Device), strconv.FormatUint(s.N, 10), strconv.FormatInt(s.OffsetMS, 10),
		strconv.FormatInt(s.WithinMS, 10), string(e.Outcome), e.By.Name, string(e.By.Role),
	}
	for i := range line {
		line[i] = harmless(line[i])
	}
	return line
}

func lossText(l []traveler.Loss) string {
	parts := make([]string, len(l))
	for i, x := range l {
		parts[i] = fmt.Sprintf("%d %s", x.N, x.Reason)
		if x.CausedAt != 0 {
			parts[i] += fmt.Sprintf(" caused at %d", x.CausedAt)
		}
	}
	return strings.Join(parts, "; ")
}

// harmless keeps a spreadsheet from taking a text for a formula: an apostrophe
// before it, which a reader takes off again. Numbers stay numbers.
func harmless(s string) string {
	if s == "" || !strings.ContainsRune("=+-@'\t\r", rune(s[0])) {
		return s
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	return "'" + s
}
