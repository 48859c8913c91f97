package traveler

import (
	"errors"
	"unicode"
	"unicode/utf8"
)

// ErrorKind sorts errors by what the one who asked can do about them.
type ErrorKind string

// The kinds of error. web keeps the one table from kind to HTTP status.
const (
	KindInvalid   ErrorKind = "invalid"   // what was sent cannot be right
	KindNotFound  ErrorKind = "not_found" // no such thing
	KindForbidden ErrorKind = "forbidden" // signed in, but not allowed
	KindUnknown   ErrorKind = "unknown"   // nobody is signed in
	KindConflict  ErrorKind = "conflict"  // the same id with another body
	KindTooLarge  ErrorKind = "too_large"
	KindFull      ErrorKind = "full"     // the disk takes no more
	KindCorrupt   ErrorKind = "corrupt"  // the file is not what it was
	KindBusy      ErrorKind = "busy"     // someone else has it; try again
	KindInternal  ErrorKind = "internal" // our fault
)

// Error is the one error type of the program: what went wrong, what was being
// done, where, and the cause.
type Error struct {
	Kind  ErrorKind
	Doing string // what was being done, for the log
	Field string // the field or thing meant, if one is
	Say   Msg    // the sentence for the person
	Err   error  // the cause, if any
}

// Error gives the sentence for the person with its cause.
func (e *Error) Error() string {
	s := e.Say.Text("en")
	if e.Field != "" {
		s = e.Field + ": " + s
	}
	if e.Doing != "" {
		s = e.Doing + ": " + s
	}
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	return s
}

// Unwrap gives the cause. Unwrap gives the error that caused this one, or nil.
func (e *Error) Unwrap() error { return e.Err }

// Invalid makes an error about one field of what was sent.
func Invalid(field, key string, args ...string) *Error {
	return &Error{Kind: KindInvalid, Field: field, Say: Msg{Key: key, Args: args}}
}

// Fail makes an error of a kind with a sentence from the catalogue.
func Fail(kind ErrorKind, key string, args ...string) *Error {
	return &Error{Kind: kind, Say: Msg{Key: key, Args: args}}
}

// KindOf gives the kind of an error; what is no *Error is internal.
func KindOf(err error) ErrorKind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return KindInternal
}

// CleanText reports whether s is valid UTF-8 of at most max characters
// without control characters or marks that reorder text.
func CleanText(s string, max int) bool {
	if !utf8.ValidString(s) || utf8.RuneCountInString(s) > max {
		return false
	}
	for _, r := range s {
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' ||
			r == '\ufeff' {
			return false
		}
	}
	return true
}
