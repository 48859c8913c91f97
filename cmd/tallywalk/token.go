package main

import (
	"fmt"
	"io"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/door"
)

func cmdToken(h host, args []string) error {
	f := flags(h, "token")
	dir := dataFlag(f)
	role := f.String("role", "",
		"make one: watcher (looks only), operator, inspector, supervisor, planner or administrator")
	name := f.String("name", "", "what the token is for (the role)")
	days := f.Int("days", door.TokenDays, "for how many days it holds")
	list := f.Bool("list", false, "list the tokens")
	revoke := f.String("revoke", "", "end the token of this name, or id of the list, at once")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	switch {
	case *list && *role == "" && *revoke == "":
		return at(h, *dir, request{Do: "tokens"}, nil)
	case *revoke != "" && *role == "" && !*list:
		return at(h, *dir, request{Do: "revoke", Name: *revoke}, nil)
	case *list || *revoke != "":
		return &usageError{"say one of --role, --list and --revoke"}
	}
	if !traveler.Role(*role).Valid() {
		return &usageError{
			"say --role and watcher, operator, inspector, supervisor, planner or administrator"}
	}
	if *days < 1 || *days > door.MaxTokenDays {
		return &usageError{fmt.Sprintf("--days is 1 to %d", door.MaxTokenDays)}
	}
	return at(h, *dir, request{Do: "token", Role: *role, Name: *name, Days: *days}, nil)
}

func (hs *house) doToken(req request, out io.Writer) error {
	ask := door.TokenAsk{Name: req.Name, Role: traveler.Role(req.Role), Days: req.Days}
	secret, _, err := door.NewToken(hs.tables, hs.host.rand, ask, "tallywalk token", hs.host.now().UTC())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(out, secret)
	return err
}

func (hs *house) doTokens(out io.Writer) error {
	all, err := door.Tokens(hs.tables)
	if err != nil {
		return err
	}
	now := hs.host.now()
	for _, t := range all {
		end := "without end"
		if !t.Until.IsZero() {
			end = "until " + t.Until.Format(time.DateOnly)
			if !now.Before(t.Until) {
				end = "over since " + t.Until.Format(time.DateOnly)
			}
		}
		if _, err := fmt.Fprintf(out, "%s  %-13s  %s  %s\n", t.ID, t.Role, end, t.Name); err != nil {
			return err
		}
	}
	return nil
}

func (hs *house) doRevoke(req request, out io.Writer) error {
	n, err := door.RevokeToken(hs.tables, req.Name)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d revoked: %s\n", n, req.Name)
	return err
}
