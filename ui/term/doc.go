// Package term is what screens in a terminal share: rows of toned text cut,
// padded and wrapped to cells, and the canvas that puts them there.
//
// Text is never interpreted. What is put into a row goes through Text or Say,
// which write out what a terminal would act on; the canvas draws it cell by cell.
package term
