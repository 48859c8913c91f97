package figures_test

import (
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// Scans say who did what: they are not for everybody who may look.
func TestScansAreExportedForFew(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	for role, want := range map[traveler.Role]int{
		traveler.RoleOperator: 403, traveler.RoleInspector: 403, traveler.RoleSupervisor: 200,
		traveler.RolePlanner: 200, traveler.RoleAdministrator: 200,
	} {
		x := r.As(role)
		if got := x.Do("GET", "/api/v1/export/scans", nil, nil); got != want {
			t.Errorf("scans for %s: %d, want %d", role, got, want)
		}
		for _, what := range []string{"batches", "visits"} {
			if got := x.Do("GET", "/api/v1/export/"+what, nil, nil); got != 200 {
				t.Errorf("%s for %s: %d", what, role, got)
			}
		}
	}
}
