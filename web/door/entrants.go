package door

import (
	"cmp"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
	"tallywalk/traveler/story"
)

// Entrant is who or what may come in: an account, a token, a station or a screen.
type Entrant struct {
	Kind string // account, token, station or screen
	Name string
	Role traveler.Role
}

// Entrants lists who may come in by what lies in the tables, by kind and name: whoever
// puts a copy back looks whether someone is among them who was removed since. The error
// is one of the tables.
func Entrants(t story.Tables) ([]Entrant, error) {
	accounts, err := rows.All[account](t, tableAccounts)
	if err != nil {
		return nil, err
	}
	var out []Entrant
	for _, a := range accounts {
		out = append(out, Entrant{"account", a.Name, a.Role})
	}
	for _, kind := range []struct{ name, table string }{{"token", tableTokens}, {"station", tableStations},
		{"screen", tableScreens}} {
		all, err := rows.All[pass](t, kind.table)
		if err != nil {
			return nil, err
		}
		for _, p := range all {
			out = append(out, Entrant{kind.name, p.Name, p.Role})
		}
	}
	slices.SortStableFunc(out, func(a, b Entrant) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Name, b.Name))
	})
	return out, nil
}
