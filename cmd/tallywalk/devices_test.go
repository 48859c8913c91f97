package main

import (
	"net/http"
)

// tabletOf enrols a station and gives its device.
func (r *rig) tabletOf(admin *rig, name string) (*rig, string) {
	r.t.Helper()
	var enrol struct{ Code string }
	if got := admin.do("POST", "/api/v1/enrol-codes", map[string]any{"name": name, "machine": "T1"},
		&enrol); got != http.StatusCreated {
		r.t.Fatalf("enrol code: %d", got)
	}
	var st struct{ Device string }
	tablet := r.visitor()
	if got := tablet.do("POST", "/api/v1/enrol", map[string]any{"code": enrol.Code},
		&st); got != http.StatusOK || st.Device == "" {
		r.t.Fatalf("enrol: %d", got)
	}
	return tablet, st.Device
}
