package ask

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// Route is one way into the API: how it is asked, what is done, and what the
// description of the API says of it. The description is made of the tables of
// routes and the types that they name, so a type says how a thing is written:
//
//   - what has omitempty or omitzero may be missing, a pointer without either may
//     be null, all else is always there;
//   - a type of text whose constants stand in one block takes those values;
//   - api:"..." on a field adds: optional, there (a pointer that is never null), blank
//     (may be empty, beside what is enumerated), enum=a|b, format=date, min=0, max=9,
//     items=1-500, default=true, array;
//   - the comment of a field is its description.
type Route struct {
	Method, Path string
	Deed         traveler.Deed // that one must be allowed to do; empty lets everybody in
	Handle       fiber.Handler
	Does         string  // a summary, in a few words
	More         string  // what else is worth knowing; may be empty
	Params       []Param // those of the path too
	Body         any     // a value of the type that is asked with; nil when there is none
	Takes        string  // media type of a body that is no JSON
	Status       int     // of the answer when all is well; 0 is 200
	Answer       any     // a value of the type that is answered; nil when there is none
	Gives        []string
	Example      Example
}

// Param is a part of the path, or a parameter of the query.
type Param struct {
	Name   string
	Says   string
	Kind   string   // integer, number, or empty for text
	Of     []string // the values it takes; empty = any
	Needed bool
}

// OneOf is an answer, or a part of one, that is of one of several types.
type OneOf []any

// Alternatives is what a type has that stands for one of several.
type Alternatives interface{ OneOf() OneOf }

// Example is a request of the description; its answer is the one that the example
// shop gives.
type Example struct {
	At   string // the address with its query; empty = there is no example
	Body string // JSON; empty when there is none
}

// Text is a parameter of any text.
func Text(name, says string) Param { return Param{Name: name, Says: says} }

// Whole is a parameter that is a whole number.
func Whole(name, says string) Param { return Param{Name: name, Says: says, Kind: "integer"} }

// Number is a parameter that is a number.
func Number(name, says string) Param { return Param{Name: name, Says: says, Kind: "number"} }

// Choice is a parameter that takes one of some values.
func Choice(name, says string, of ...string) Param { return Param{Name: name, Says: says, Of: of} }

// Tongue is the parameter that names the language of what is printed.
func Tongue() Param {
	return Choice("language", "of what is printed; the one chosen, if left out", traveler.Languages()...)
}

// Must is a parameter that cannot be left out.
func (p Param) Must() Param {
	p.Needed = true
	return p
}

// Media types of answers that are files.
const (
	MediaPDF  = "application/pdf"
	MediaXLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	MediaCSV  = "text/csv"
	MediaJSON = "application/json"
	// MediaJSONL is one JSON value a line.
	MediaJSONL = "application/jsonl"
	// MediaFile is a file whose kind its bytes say.
	MediaFile = "application/octet-stream"
	// MediaImage is a picture of any kind that is taken.
	MediaImage = "image/*"
)
