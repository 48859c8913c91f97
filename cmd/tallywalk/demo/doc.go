// Package demo is the invented shop: its hall, people, parts and calendars, and a
// simulation of its work that the demo command opens with and that goes on while
// it is open. What is true of it, and what its figures should therefore find, is
// in truth.go.
package demo
