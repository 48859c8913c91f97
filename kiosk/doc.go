// Package kiosk says what a scan means to someone who stands at a machine: what
// they see of a batch, which step is likely next and which others there are, and
// what the codes of an action sheet stand for. It also holds the page that an
// operator works with. It tells nothing to the record itself.
package kiosk
