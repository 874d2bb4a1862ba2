// Package checks holds figures of several packages of calc together against
// published ones and against other programs. It has tests only.
//
// The page of all such checks is CHECKS.md in the folder above. Each part of it
// is held by the tests of the package that the part belongs to; what takes more
// than one package is here, and so are the page's head and order. To write it
// anew: go test -p 1 ./calc/stat ./calc/budget ./calc/checks -update.
package checks
