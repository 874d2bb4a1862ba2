// Package exchange is data that leaves the bench and data that enters it.
//
// # Out
//
// Jobs, judged steps, presses, packs and rings as CSV, or as a spreadsheet with a
// sheet each; one job's results as QIF 3 (ISO 23952). Nothing is folded but the
// decisions about one job's presses: the rest are the rows that followed from the
// facts when they were stored. All is streamed. What is kept in memory is a few
// pages of rows or the presses of a few jobs, and, beside judgements, the serial
// numbers of the jobs wanted, of at most a million.
//
// Figures are written as decimals, exact but for a quotient, which is rounded
// half to even at nine places. A pack has its leaves as they were said, its total as
// it counts, how far that is off the worked size, and the uncertainty of the worked
// size; how sure the total is nobody says. A press has the certificates of its gauge
// and pieces as its job knew them then. Times are in UTC. A range chooses jobs by their
// opening; of a job chosen, all is written. The newest comes first: jobs and their
// presses by the opening of the job, judgements by when they were made.
//
// # What a spreadsheet would run
//
// A cell of text that begins with =, +, -, @, their full-width forms, a tab or a
// carriage return, or with blanks before one of them, gets an apostrophe in front, and so does a text
// that begins with an apostrophe: taking one off gives the text as it was. Control
// characters and those that turn the direction of writing are written as \u202e
// and the like. Columns of figures hold figures only. In a spreadsheet texts are
// texts by their type as well, and there is no formula.
//
// A spreadsheet ends at 1,048,576 rows. A million are written to a sheet; one
// more and the whole file is refused, in favour of CSV. A workbook of the
// demonstration's job was opened with LibreOffice 7.4.7.2 (soffice --headless
// --convert-to fods), which read all five sheets, every figure as a number, times as
// dates, and found no formula.
//
// # In
//
// A digital calibration certificate (DCC 3.1 and 3.2 with D-SI values), and lists
// of pieces and of stock as CSV. Each is read whole and checked whole before
// anything is made of it. XML is read by encoding/xml, which fetches nothing and
// expands no entity but XML's own five; a document type is refused before that,
// and depth, size and the number of elements have limits. A certificate's own
// electronic signature is not checked: the SHA-256 of its file is kept instead.
package exchange
