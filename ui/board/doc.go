// Package board is the quality lead's board: the jobs of all bays with how their
// rings came out, what goes wrong and why, control charts over the last jobs of a
// sheet, what waits for a decision, and the way down from a job to the bytes that
// a gauge sent.
//
// It stands beside a working bench, or before the database of a shop of many
// benches, and only looks. It reads the rows that follow from judgements, by their
// indexes; it folds a job only to show its steps, and the last jobs of a sheet, a
// few at a time, for their closure errors. It asks once a second, and when it is
// told to, whether its source grew, and reads what changed. Each bench of a shop
// numbers its own jobs and facts, so a job is never looked up without its bay.
//
// # What holds
//
//   - A Model is never changed once it is given out, and a frame is a pure
//     function of a view over one.
//   - Text from outside (serial numbers, names, gauges' bytes) is never
//     interpreted; it is made visible where it is put into a row.
//   - A word or a shape stands beside every tone. Names of persons are left out
//     until they are asked for.
//   - Nothing is unbounded: a list holds the 1,000 newest that match, and says so.
package board
