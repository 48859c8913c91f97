// Package deepcopy stands for the package of the same address, which the library of
// workbooks copies parts of a sheet with (see replace in go.mod).
//
// That package can copy a field into a method whose name it finds when it runs. A
// program with such a call in it keeps every exported method of every package it
// links: a quarter of ours. This one has what the library of workbooks asks for,
// copies between values of one type, and nothing else.
package deepcopy

import (
	"fmt"
	"reflect"
)

// Copy copies src, or what it points to, into what dst points to, so that the two
// share nothing: exported fields of structs, elements of slices, arrays and maps, what
// pointers and interfaces hold. Fields that are not exported keep what dst has.
// It fails when dst is not a pointer, or the two are not of one type.
func Copy(dst, src any) error {
	to, from := reflect.ValueOf(dst), reflect.ValueOf(src)
	if to.Kind() != reflect.Pointer || to.IsNil() {
		return fmt.Errorf("cannot copy into %T", dst)
	}
	to = to.Elem()
	if from.IsValid() && from.Type() != to.Type() && from.Kind() == reflect.Pointer {
		from = from.Elem()
	}
	if !from.IsValid() || from.Type() != to.Type() {
		return fmt.Errorf("cannot copy %T into %T", src, dst)
	}
	copyInto(to, from)
	return nil
}

func copyInto(to, from reflect.Value) {
	switch from.Kind() {
	case reflect.Struct:
		for i := range from.NumField() {
			if from.Type().Field(i).IsExported() {
				copyInto(to.Field(i), from.Field(i))
			}
		}
	case reflect.Array:
		for i := range from.Len() {
			copyInto(to.Index(i), from.Index(i))
		}
	case reflect.Pointer, reflect.Slice, reflect.Map, reflect.Interface:
		if from.IsNil() {
			to.SetZero()
			return
		}
		to.Set(copyOf(from))
	default:
		to.Set(from)
	}
}

// copyOf is a copy of something that is not nil but could be.
func copyOf(from reflect.Value) reflect.Value {
	switch from.Kind() {
	case reflect.Pointer:
		made := reflect.New(from.Type().Elem())
		copyInto(made.Elem(), from.Elem())
		return made
	case reflect.Slice:
		made := reflect.MakeSlice(from.Type(), from.Len(), from.Len())
		for i := range from.Len() {
			copyInto(made.Index(i), from.Index(i))
		}
		return made
	case reflect.Map:
		made := reflect.MakeMapWithSize(from.Type(), from.Len())
		for entries := from.MapRange(); entries.Next(); {
			value := reflect.New(from.Type().Elem()).Elem()
			copyInto(value, entries.Value())
			made.SetMapIndex(entries.Key(), value)
		}
		return made
	}
	held := reflect.New(from.Elem().Type()).Elem()
	copyInto(held, from.Elem())
	return held
}
