// Package ahead simulates the floor forward from the story as it stands: which
// dates can be promised, what to run next, and what would become of them if
// something were done otherwise. It is pure and total: no clock, no dice but the
// seed's, an answer for any story.
package ahead
