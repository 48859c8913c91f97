package main

import (
	"errors"
	"flag"
	"fmt"

	"tallywalk/store"
)

// freshFlag says whether the record begins fresh: "", "true", or "again" where the one
// that is laid aside was itself begun so. A unit file that says --fresh must not lay the
// shop's record aside at each start.
func freshFlag(f *flag.FlagSet) *string {
	var how string
	f.BoolFunc("fresh",
		"lay the batches and scans of a trial aside, and begin with the shop's lists, accounts and stations",
		func(s string) error {
			if s != "true" && s != "again" {
				return errors.New("is said without a value, or as --fresh=again")
			}
			how = s
			return nil
		})
	return &how
}

// begunFresh lays the record of a folder aside, where that was asked for.
func begunFresh(h host, dir, how string) error {
	if how == "" {
		return nil
	}
	r, err := store.Fresh(h.ctx, dir, how == "again", h.now(), h.rand)
	if err != nil {
		return err
	}
	if r.Aside == "" {
		fmt.Fprintln(h.out, "The record has lists only; nothing was laid aside.")
		return nil
	}
	fmt.Fprintf(h.out,
		"The trial, with %s scans, lies in %s. Remove that file when nobody needs it any more.\n",
		grouped(r.Scans), r.Aside)
	fmt.Fprintln(h.out,
		"The record begins with the shop's lists; cards of the trial are unknown to it. Collect them.")
	return nil
}
