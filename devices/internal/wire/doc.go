// Package wire is what the decoders of this project share: cutting bytes into
// lines, and making strings of figures without an allocation for each.
package wire
