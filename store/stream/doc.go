// Package stream is a record that several servers keep together, in a stream of NATS
// JetStream: each group of entries is one message, and who decides is read from the
// record itself.
//
// A server decides after it appended a claim, with a term one above the highest it had
// read, and read that claim. Each message is appended with the sequence of the last one
// that its server had read, so that of two servers that both take themselves for the one
// that decides only one can succeed; the other reads, and steps back. There is no lease
// and no clock in that: time only says when it is worth trying, after nothing was heard of
// the one that decides for Patience.
//
// Each server has a file of its own, written each second with the sequence up to which it
// holds the stream. It is made again from the stream when it is lost.
package stream
