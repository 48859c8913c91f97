//go:build !linux

package store

// willNeed does nothing where the kernel cannot be told.
func (f *File) willNeed(_, _, _ string) {}
