//go:build !linux

package store

// willNeed does nothing where the kernel cannot be advised.
func (f *File) willNeed(_, _, _ string) {}
