package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/people"
)

// erasedName is the file of the numbers whose names were erased. It lies beside the record
// and beside its copies, so that an older copy does not bring a name back.
const erasedName = "tallywalk.erased"

func cmdPerson(h host, args []string) error {
	f := flags(h, "person")
	dir := dataFlag(f)
	export := f.Bool("export", false,
		"print what is kept of them, as JSON: a line of the list, one for each scan")
	pseudonym := f.String("pseudonym", "", "what stands in the place of the name; it cannot be taken back")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	name := strings.TrimSpace(*pseudonym)
	if len(words) != 1 || *export == (name != "") {
		return &usageError{"say a person's number, and --export or --pseudonym TEXT"}
	}
	return at(h, *dir, request{Do: "person", Refs: words, Name: name}, nil)
}

// doPerson exports or erases a person by number. A badge's code is refused: it goes into
// no answer.
func (hs *house) doPerson(req request, out io.Writer) error {
	ref := req.Refs[0]
	p, ok := people.Find(hs.tables, ref)
	if _, isBadge := people.BadgeCode(ref); !ok || isBadge {
		return traveler.Fail(traveler.KindNotFound, "person.number", ref)
	}
	if req.Name == "" {
		return hs.exportPerson(p, out)
	}
	gone := people.Erased{ID: p.ID, Pseudonym: req.Name, At: hs.host.now().UTC()}
	if err := people.Erase(hs.tables, gone); err != nil {
		return err
	}
	for _, dir := range []string{filepath.Dir(hs.file.Path()), hs.copies} {
		if err := hs.saveErased(dir); err != nil {
			return fmt.Errorf(
				"the name is erased here, but an older copy would bring it back; say it again: %w", err)
		}
	}
	_, err := fmt.Fprintf(out, erasedText, req.Name, p.ID, erasedName)
	return err
}

const erasedText = `The list of people has %q for number %s. The record is as it was: it holds numbers only.
A list that is imported does not bring the name back, nor does a copy that lies beside %s.
Copies elsewhere still hold it, as do unused pages of the file until they are written over, an account
of that name, and notes that someone typed.
`

// keptOf is a line of what is kept of someone.
type keptOf struct {
	Person traveler.PersonID `json:"person,omitempty"`
	Name   string            `json:"name,omitempty"`
	Role   traveler.Role     `json:"role,omitempty"`
	Entry  *traveler.Entry   `json:"entry,omitempty"`
}

// exportPerson writes someone's row and scans, without the codes of badges.
func (hs *house) exportPerson(p people.Person, out io.Writer) error {
	to := json.NewEncoder(out)
	if err := to.Encode(keptOf{Person: p.ID, Name: p.Name, Role: p.Role}); err != nil {
		return err
	}
	var failed error
	err := people.WithoutBadges(hs.desk, hs.tables).Entries(1, func(e *traveler.Entry) bool {
		if e.Scan != nil && e.Scan.Operator == p.ID {
			failed = to.Encode(keptOf{Entry: e})
		}
		return failed == nil
	})
	return errors.Join(err, failed)
}

// saveErased writes whose names were erased into a folder, with those that stand there
// already. Without a folder or such names it does nothing.
func (hs *house) saveErased(dir string) error {
	here, err := people.AllErased(hs.tables)
	if err != nil || dir == "" || len(here) == 0 {
		return err
	}
	return mergeErased(dir, here)
}

func mergeErased(dir string, more []people.Erased) error {
	there, err := readErased(dir)
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(people.MergeErased(there, more), "", "  ")
	if err != nil {
		return err
	}
	return store.WriteWhole(filepath.Join(dir, erasedName), append(text, '\n'))
}

// readErased reads whose names were erased from a folder; nobody's where there is no
// such file. One that cannot be read is an error: a name would come back.
func readErased(dir string) (list []people.Erased, err error) {
	name := filepath.Join(dir, erasedName)
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &list)
	}
	if err != nil {
		return nil, fmt.Errorf(
			"%s says whose names were erased, and cannot be read; put it back from beside a copy: %w", name,
			err)
	}
	return list, nil
}

// keepErased erases what the file beside the record says and the record does not have:
// a copy from before was put back.
func (hs *house) keepErased() error {
	list, err := readErased(filepath.Dir(hs.file.Path()))
	if err != nil || len(list) == 0 {
		return err
	}
	known, err := people.AllErased(hs.tables)
	if err != nil {
		return err
	}
	for _, e := range people.MergeErased(known, list) {
		if err := people.Erase(hs.tables, e); err != nil {
			return err
		}
	}
	return nil
}

// bringErased takes what lies beside a copy along to the folder that it is put back into,
// before it is: a restore that breaks off brings no name back either.
func bringErased(from, dir string) error {
	list, err := readErased(from)
	if err != nil || len(list) == 0 {
		return err
	}
	if _, err := os.Lstat(filepath.Join(dir, store.FileName)); err == nil {
		return nil // which the restore refuses
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	return mergeErased(dir, list)
}
