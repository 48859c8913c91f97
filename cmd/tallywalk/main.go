// Command tallywalk prints a QR card for each batch of parts, takes the scans
// made at the machines, and turns them into live boards and history. It is the
// only place that names the concrete packages together, and the clock.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], realHost()))
}
