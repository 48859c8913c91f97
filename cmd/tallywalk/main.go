// Command tallywalk prints a QR card for each batch of parts, takes the scans
// made at the machines, and turns them into live boards and history. It is the
// only place that names the concrete packages together, and the clock.
//
// # Decisions, with their reasons
//
//   - The soft limit of memory follows what is in use (memory.go): a limit below that
//     has the collector run without end.
//   - The demo's history is gathered in memory and written in large pieces
//     (store.Buffered); a test holds it to the same record.
//   - A service has an account of its own, not a passing one (service.go): copies on another
//     disk keep their owner, and a command of that account reaches the folder. Under the
//     manager of services of Windows, which gives no console, what is said goes to a
//     file in the data folder.
//   - With TLS (secure.go) the public URL is kept as it is without, and cards carry it
//     as it is with: the port is the same, so cards of before and after lead there.
package main

import "os"

func main() {
	code, is := byManager(os.Args[1:])
	if !is {
		code = run(os.Args[1:], realHost())
	}
	os.Exit(code)
}
