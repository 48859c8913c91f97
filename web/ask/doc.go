// Package ask is a request as it is asked and an answer as it is given: what is
// read of addresses and bodies, what errors are answered as, and the house that
// all rooms of the server work with.
package ask
