package apidoc

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

type inner struct {
	Shared string `json:"shared"`
	Own    int    `json:"own"`
}

type either struct{}

func (either) OneOf() ask.OneOf { return ask.OneOf{inner{}, 0} }

type sample struct {
	inner
	Shared  bool                `json:"shared"` // hides that of inner, as in encoding/json
	Must    string              `json:"must"`
	May     string              `json:"may,omitempty"`
	Zero    time.Time           `json:"zero,omitzero"`
	Null    *float64            `json:"null"`
	Absent  *float64            `json:"absent,omitempty"`
	There   *inner              `json:"there" api:"there"`
	Nullish *inner              `json:"nullish"`
	Few     int                 `json:"few" api:"min=1,max=9,optional"`
	Word    string              `json:"word" api:"enum=a|b,blank"`
	Words   []string            `json:"words" api:"enum=a|b"`
	Pair    [2]int64            `json:"pair"`
	Many    []int               `json:"many" api:"items=1-5"`
	ByName  map[string]*float64 `json:"by_name"`
	Either  either              `json:"either"`
	Raw     json.RawMessage     `json:"raw" api:"array"`
	State   story.VisitState    `json:"state"`
	hidden  int                 //nolint:unused // it must not appear
	Skipped int                 `json:"-"`
}

func newSchemas() *schemas {
	return &schemas{
		src: sources{root: "../..", read: map[string]*source{}}, types: map[reflect.Type]string{},
		all: openapi3.Schemas{},
	}
}

// What a field is in JSON decides how it is described: encoding/json leaves out what
// omitempty and omitzero say, writes null for a nil pointer, and takes the fields of
// embedded structures for its own, the outer ones first (its documentation).
func TestSchemaOfAStructure(t *testing.T) {
	s := newSchemas()
	ref, err := s.of(reflect.TypeFor[sample](), "")
	if err != nil {
		t.Fatal(err)
	}
	if ref.Ref != "#/components/schemas/Sample" {
		t.Errorf("it is called %s", ref.Ref)
	}
	raw, err := json.Marshal(s.all["Sample"].Value)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		AdditionalProperties bool
		Required             []string
		Properties           map[string]json.RawMessage
	}
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	slices.Sort(got.Required)
	must := "by_name either many must null nullish own pair raw shared state there word words"
	if strings.Join(got.Required, " ") != must || got.AdditionalProperties {
		t.Errorf("required: %v; others too: %v", got.Required, got.AdditionalProperties)
	}
	for name, want := range map[string]string{
		"shared":  `{"type":"boolean"}`,
		"null":    `{"nullable":true,"type":"number"}`,
		"absent":  `{"type":"number"}`,
		"zero":    `{"format":"date-time","type":"string"}`,
		"there":   `{"$ref":"#/components/schemas/Inner"}`,
		"nullish": `{"allOf":[{"$ref":"#/components/schemas/Inner"}],"nullable":true}`,
		"few":     `{"maximum":9,"minimum":1,"type":"integer"}`,
		"word":    `{"enum":["a","b",""],"type":"string"}`,
		"words":   `{"items":{"enum":["a","b"],"type":"string"},"type":"array"}`,
		"pair":    `{"items":{"type":"integer"},"maxItems":2,"minItems":2,"type":"array"}`,
		"many":    `{"items":{"type":"integer"},"maxItems":5,"minItems":1,"type":"array"}`,
		"by_name": `{"additionalProperties":{"nullable":true,"type":"number"},"type":"object"}`,
		"either":  `{"oneOf":[{"$ref":"#/components/schemas/Inner"},{"type":"integer"}]}`,
		"raw":     `{"items":{},"type":"array"}`,
		"state":   `{"enum":["waiting","setting","firstoff","ready","running","stopped","outside","finished"],"type":"string"}`,
	} {
		if string(got.Properties[name]) != want {
			t.Errorf("%s: %s, want %s", name, got.Properties[name], want)
		}
	}
	for _, name := range []string{"hidden", "Skipped", "-"} {
		if _, ok := got.Properties[name]; ok {
			t.Errorf("%s is described", name)
		}
	}
}

// Comments are the descriptions, of fields and of types, and constants of a type of
// text are its values.
func TestSchemaReadsTheSource(t *testing.T) {
	s := newSchemas()
	if _, err := s.of(reflect.TypeFor[traveler.Scan](), ""); err != nil {
		t.Fatal(err)
	}
	scan := s.all["Scan"].Value
	if d := scan.Properties["good"].Value.Description; d != "pieces, added to what was counted before" {
		t.Errorf("good: %q", d)
	}
	if d := scan.Description; !strings.HasPrefix(d, "one thing that someone or some device said") {
		t.Errorf("a scan: %q", d)
	}
	actions := scan.Properties["action"].Value.Enum
	if !slices.Contains(actions, any(string(traveler.ActArrive))) ||
		!slices.Contains(actions, any(string(traveler.ActDeliver))) || len(actions) < 20 {
		t.Errorf("actions: %v", actions)
	}
}

// What cannot be described is an error that names it.
func TestSchemaRefusesWhatHasNoName(t *testing.T) {
	type Inner struct {
		X int `json:"x"`
	}
	for _, x := range []struct {
		what any
		says string
	}{
		{struct{ A int }{}, "has no name in JSON"},
		{struct {
			F func() `json:"f"`
		}{}, "cannot be described"},
		{struct {
			A int `json:"a" api:"colour=red"`
		}{}, `nothing is known of "colour=red"`},
		{struct {
			A inner `json:"a"`
			B Inner `json:"b"`
		}{}, "so is another type"},
	} {
		if _, err := newSchemas().of(reflect.TypeOf(x.what), ""); err == nil ||
			!strings.Contains(err.Error(), x.says) {
			t.Errorf("%T: %v, want %q", x.what, err, x.says)
		}
	}
	routes := []ask.Route{{Method: "GET", Path: "/x/:id"}}
	if _, err := Document(Info(), routes, "../..", nil); err == nil || !strings.Contains(
		err.Error(), "GET /x/:id: nothing is said of id",
	) {
		t.Error(err)
	}
	routes[0].Params = []ask.Param{ask.Text("id", "which")}
	routes[0].Example.At = "/y/1"
	if _, err := Document(Info(), routes, "../..", nil); err == nil || !strings.Contains(
		err.Error(), "/y/1 is no address of /x/:id",
	) {
		t.Error(err)
	}
}
