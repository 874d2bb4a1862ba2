// Package bench runs one bench: one goroutine owns its jobs and its journal.
//
// Samples come in from the ports over one bounded channel and commands over
// another; each becomes facts, in one transaction, durable before anything is
// said of it. Then the job is worked anew and an immutable Snapshot is
// published. Views read snapshots and send commands; nothing else changes a
// bench.
//
// A full channel makes the port's goroutine wait: nothing is dropped silently.
package bench
