// Package ipp gives documents to printers on the network by the Internet Printing
// Protocol: the encoding is that of RFC 8010, the meaning that of RFC 8011, names of
// paper are those of PWG 5101.1. It is a client for what the shop needs and no more.
//
// # Decisions, with their reasons
//
//   - A document is given in two steps where the printer knows them, Create-Job and
//     Send-Document: the printer's number of the job is known, and kept, before
//     anything of the document goes out, so that after a lost answer the job is asked
//     for by its number. Where it knows Print-Job only, jobs are looked up by name.
//   - The client never sends a document again by itself. It says whether the document
//     went out whole (paper.Lost) or not (paper.Unsent); who may decide what follows
//     keeps books of it.
//   - Documents go out as PDF, in their own size: no printer scales a code. A printer
//     that takes no PDF, or not this size, is not tried.
//   - Nothing of an answer is believed to be short, or true: it is read up to 1 MiB, and
//     what leads beyond its end is refused. Answers that lead to other addresses are not
//     followed, and no proxy is used.
//   - A printer's certificate is nobody's but its own: the one that it shows when it is
//     added is remembered, and another one refused.
package ipp
