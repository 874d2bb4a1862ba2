// Package metrics counts what a bench records and serves the figures to a
// scraper, in the text and protocol-buffer forms that the Prometheus client
// library writes. METRICS.md lists every one.
//
// It is fed on the bench's goroutine by facts that are durable already (a few
// additions, no waiting, no input or output), and reads the bench's newest
// Snapshot at a scrape. Nothing here can slow or refuse a press, and the listener
// takes no commands.
//
// Counters begin at nought with the program, as scrapers expect. Labels are
// bounded by the bench file and its sheets, whatever facts say: a gauge, sheet or
// stage that is not of this bench is counted under "other". No label is a job, a
// serial number or a person.
package metrics
