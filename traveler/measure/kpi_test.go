package measure

import (
	"math"
	"testing"
	"time"
)

// The formulas are those of ISO 22400-2:2014, as given by the public ontology
// IndustrialStandard-ODP-ISO22400-2 v2.0.0; the numbers are a test vector with
// exact arithmetic: minutes APT 320, AUST 50, ADET 30, AQT 600, ATT 20, PBT 480;
// PQ 100, GQ 92, SQ 5, RQ 3; PRI 2.8.
func TestKPIs(t *testing.T) {
	e := Elements{
		APT: 320 * time.Minute, AUST: 50 * time.Minute, ADET: 30 * time.Minute, AQT: 600 * time.Minute,
		ATT: 20 * time.Minute,
		PBT: 480 * time.Minute, PRI: 168 * time.Second, PQ: 100, GQ: 92, SQ: 5, RQ: 3, PSQ: 4,
	}
	if e.AOET() != 1020*time.Minute || e.AUBT() != 400*time.Minute || e.AUPT() != 370*time.Minute {
		t.Errorf("AUPT %v AUBT %v AOET %v", e.AUPT(), e.AUBT(), e.AOET())
	}
	want := map[string]float64{
		"allocation ratio": 0.39216, "throughput rate": 5.88235, "allocation efficiency": 0.83333,
		"utilization efficiency": 0.8,
		"availability":           0.66667, "effectiveness": 0.875, "quality ratio": 0.92,
		"set-up ratio": 0.13514, "technical efficiency": 0.91429,
		"production process ratio": 0.31373, "scrap ratio": 0.05, "rework ratio": 0.03,
		"actual to planned scrap ratio": 1.25,
	}
	for _, k := range e.KPIs() {
		if math.Abs(k.Value-want[k.Name]) > 5e-6 || !k.Known {
			t.Errorf("%s = %v, want %v", k.Name, k.Value, want[k.Name])
		}
		delete(want, k.Name)
	}
	for name := range want {
		t.Errorf("%s is not given", name)
	}
	for _, k := range (&Elements{}).KPIs() {
		if k.Known || k.Value != 0 {
			t.Errorf("%s is %v of nothing", k.Name, k.Value)
		}
	}
	unplanned := Elements{APT: time.Hour, PQ: 10, GQ: 10}
	for _, k := range unplanned.KPIs() {
		if k.Name == "effectiveness" && k.Known {
			t.Errorf("effectiveness is %v where no cycle is planned", k.Value)
		}
	}
}
