package apidoc

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"tallywalk/web/ask"
)

// schemas makes schemas of types. Named structures are components, each once.
type schemas struct {
	src   sources
	types map[reflect.Type]string // names of the components
	all   openapi3.Schemas
}

var (
	timeType = reflect.TypeFor[time.Time]()
	rawType  = reflect.TypeFor[json.RawMessage]()
	altType  = reflect.TypeFor[ask.Alternatives]()
)

// of is the schema of a type. It fails where a type cannot be described: it has
// no name in JSON, or two types have the same name.
func (s *schemas) of(t reflect.Type, within string) (*openapi3.SchemaRef, error) {
	switch {
	case t == timeType:
		return openapi3.NewDateTimeSchema().NewRef(), nil
	case t == rawType, t.Kind() == reflect.Interface:
		return (&openapi3.Schema{}).NewRef(), nil
	case t.Implements(altType):
		one, ok := reflect.Zero(t).Interface().(ask.Alternatives)
		if !ok {
			return nil, fmt.Errorf("%s is one of nothing", t)
		}
		return s.oneOf(one.OneOf())
	}
	switch t.Kind() {
	case reflect.Pointer:
		return s.of(t.Elem(), within)
	case reflect.String:
		return s.text(t)
	case reflect.Bool:
		return openapi3.NewBoolSchema().NewRef(), nil
	case reflect.Float32, reflect.Float64:
		return openapi3.NewFloat64Schema().WithFormat("").NewRef(), nil
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return openapi3.NewIntegerSchema().NewRef(), nil
	case reflect.Slice, reflect.Array:
		return s.list(t, within)
	case reflect.Map:
		values, err := s.of(t.Elem(), within)
		if err != nil {
			return nil, err
		}
		m := openapi3.NewObjectSchema()
		m.AdditionalProperties = openapi3.AdditionalProperties{
			Schema: orNull(values, t.Elem().Kind() == reflect.Pointer),
		}
		return m.NewRef(), nil
	case reflect.Struct:
		return s.structure(t, within)
	}
	return nil, fmt.Errorf("%s cannot be described", t)
}

func (s *schemas) text(t reflect.Type) (*openapi3.SchemaRef, error) {
	x := openapi3.NewStringSchema()
	src, err := s.src.of(t)
	if err != nil {
		return nil, err
	}
	if src != nil {
		for _, v := range src.values[t.Name()] {
			x.Enum = append(x.Enum, v)
		}
	}
	return x.NewRef(), nil
}

func (s *schemas) list(t reflect.Type, within string) (*openapi3.SchemaRef, error) {
	items, err := s.of(t.Elem(), within)
	if err != nil {
		return nil, err
	}
	x := openapi3.NewArraySchema()
	x.Items = items
	if t.Kind() == reflect.Array {
		n := uint64(t.Len())
		x.MinItems, x.MaxItems = n, &n
	}
	return x.NewRef(), nil
}

// oneOf is a schema of which one of several types holds.
func (s *schemas) oneOf(of ask.OneOf) (*openapi3.SchemaRef, error) {
	x := &openapi3.Schema{}
	for _, v := range of {
		one, err := s.of(reflect.TypeOf(v), "")
		if err != nil {
			return nil, err
		}
		x.OneOf = append(x.OneOf, one)
	}
	return x.NewRef(), nil
}

// structure is a component where the type has a name, else it stands where it is
// used; within is then how its fields are called in the source.
func (s *schemas) structure(t reflect.Type, within string) (*openapi3.SchemaRef, error) {
	if t.Name() == "" {
		x := openapi3.NewObjectSchema().WithoutAdditionalProperties()
		return x.NewRef(), s.fill(x, t, within, nil)
	}
	name, known := s.types[t]
	if !known {
		name = componentName(t)
		if s.all[name] != nil {
			return nil, fmt.Errorf("%s is called %s, and so is another type", t, name)
		}
		x := openapi3.NewObjectSchema().WithoutAdditionalProperties()
		s.types[t], s.all[name] = name, x.NewRef()
		src, err := s.src.of(t)
		if err != nil {
			return nil, err
		}
		if src != nil {
			x.Description = src.types[t.Name()]
		}
		if err := s.fill(x, t, "", nil); err != nil {
			return nil, err
		}
	}
	return openapi3.NewSchemaRef("#/components/schemas/"+name, s.all[name].Value), nil
}

// componentName is what a type is called in the description.
func componentName(t reflect.Type) string {
	n := t.Name()
	for _, end := range []string{"View", "Body"} {
		n = strings.TrimSuffix(n, end)
	}
	return strings.ToUpper(n[:1]) + n[1:]
}

// fill adds the fields of a structure, those of embedded ones as its own. outer
// are names that a structure around it has already.
func (s *schemas) fill(x *openapi3.Schema, t reflect.Type, within string, outer []string) error {
	name := t.Name()
	if within != "" {
		name = within
	}
	if _, err := s.src.of(t); err != nil {
		return err
	}
	own := slices.Clone(outer)
	for i := range t.NumField() {
		if n, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ","); n != "" {
			own = append(own, n)
		}
	}
	for i := range t.NumField() {
		f := t.Field(i)
		said := f.Tag.Get("json")
		if f.Anonymous && said == "" {
			if err := s.fill(x, f.Type, "", own); err != nil {
				return err
			}
			continue
		}
		if said == "-" || !f.IsExported() {
			continue
		}
		n, options, _ := strings.Cut(said, ",")
		if n == "" {
			return fmt.Errorf("%s.%s has no name in JSON", t, f.Name)
		}
		if slices.Contains(outer, n) {
			continue
		}
		if err := s.field(x, f, n, options, s.comment(t, name, f.Name),
			s.inner(t, name, f.Name)); err != nil {
			return fmt.Errorf("%s.%s: %w", t, f.Name, err)
		}
	}
	return nil
}

// inner is how the fields of a structure within a field are called: with its
// package, since it has none of its own.
func (s *schemas) inner(t reflect.Type, name, field string) string {
	if pkg, rest, ok := strings.Cut(name, "#"); ok {
		return pkg + "#" + rest + "." + field
	}
	return strings.TrimPrefix(t.PkgPath(), module+"/") + "#" + name + "." + field
}

// comment is what the source says of a field.
func (s *schemas) comment(t reflect.Type, name, field string) string {
	pkg, rest, ok := strings.Cut(name, "#")
	if !ok {
		pkg, rest = strings.TrimPrefix(t.PkgPath(), module+"/"), name
	}
	if src := s.src.read[pkg]; src != nil {
		return src.fields[rest][field]
	}
	return ""
}

// field adds one field.
func (s *schemas) field(
	x *openapi3.Schema, f reflect.StructField, name, options, comment, inner string,
) error {
	ref, err := s.of(f.Type, inner)
	if err != nil {
		return err
	}
	said := strings.Split(f.Tag.Get("api"), ",")
	missing := strings.Contains(options, "omit") || slices.Contains(said, "optional")
	if ref, err = tagged(ref, said); err != nil {
		return err
	}
	ref = orNull(
		ref,
		f.Type.Kind() == reflect.Pointer && !strings.Contains(options, "omit") &&
			!slices.Contains(said, "there"),
	)
	x.Properties = withProperty(x.Properties, name, described(ref, comment))
	if !missing {
		x.Required = append(x.Required, name)
	}
	return nil
}

func withProperty(all openapi3.Schemas, name string, ref *openapi3.SchemaRef) openapi3.Schemas {
	if all == nil {
		all = openapi3.Schemas{}
	}
	all[name] = ref
	return all
}

// tagged adds what the tag of a field says.
func tagged(ref *openapi3.SchemaRef, said []string) (*openapi3.SchemaRef, error) {
	for _, option := range said {
		key, value, _ := strings.Cut(option, "=")
		switch key {
		case "", "optional", "there":
			continue
		}
		ref = own(ref)
		x := ref.Value
		of := x
		if x.Items != nil {
			x.Items = own(x.Items)
			of = x.Items.Value
		}
		switch key {
		case "blank":
			of.Enum = append(of.Enum, "")
		case "enum":
			of.Enum = nil
			for _, v := range strings.Split(value, "|") {
				of.Enum = append(of.Enum, v)
			}
		case "format":
			of.Format = value
		case "min", "max":
			n, err := strconv.ParseFloat(value, 64)
			if err != nil {
				return nil, err
			}
			if key == "min" {
				x.Min = &n
			} else {
				x.Max = &n
			}
		case "items":
			var most uint64
			if _, err := fmt.Sscanf(value, "%d-%d", &x.MinItems, &most); err != nil {
				return nil, err
			}
			x.MaxItems = &most
		case "default":
			x.Default = value == "true"
		case "array":
			items := &openapi3.Schema{}
			if x.Type.Is("string") { // a text that is written as a list of texts
				items = openapi3.NewStringSchema()
			}
			x.Type, x.Items = &openapi3.Types{"array"}, items.NewRef()
		default:
			return nil, fmt.Errorf("nothing is known of %q", option)
		}
	}
	return ref, nil
}

// own is a schema that may be changed: a copy, or one that holds a component.
func own(ref *openapi3.SchemaRef) *openapi3.SchemaRef {
	if ref.Ref != "" {
		return (&openapi3.Schema{AllOf: openapi3.SchemaRefs{ref}}).NewRef()
	}
	x := *ref.Value
	x.Enum = slices.Clone(x.Enum)
	return x.NewRef()
}

func orNull(ref *openapi3.SchemaRef, null bool) *openapi3.SchemaRef {
	if !null {
		return ref
	}
	ref = own(ref)
	ref.Value.Nullable = true
	if len(ref.Value.Enum) > 0 {
		ref.Value.Enum = append(ref.Value.Enum, nil)
	}
	return ref
}

func described(ref *openapi3.SchemaRef, comment string) *openapi3.SchemaRef {
	if comment == "" {
		return ref
	}
	ref = own(ref)
	ref.Value.Description = comment
	return ref
}
