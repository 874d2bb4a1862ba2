// Package sheet reads setting sheets and the entries of a job.
//
// A sheet is the written knowledge of one type of drive: its faces, lengths,
// packs and checks, in the order of work. Read decodes it strictly and builds
// its network, so that a sheet in hand is one whose lengths make sense; faults
// are laid at file, line and column. SHEETS.md explains every key.
//
// Entries are what a job put in: marks, presses with their pieces, packs
// fitted, answers. They have one written form, used by readings files, by a
// sheet's example and by tests.
//
// The package works nothing out: calc/overhaul does.
package sheet
