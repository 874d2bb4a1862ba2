// Package document reads a YAML file strictly: every fault is laid at its
// file, line and column with what to write instead, an unknown key is refused
// with the keys that may stand there, and scalars are taken as written (00123
// stays 00123, 0.100 keeps its last nought).
//
// Faults are gathered in the document, so that an author sees them together;
// readers go on with zero values after a fault, and Err says what was found.
// Aliases, anchors, tags, merge keys and a second document are refused, as is a
// file over MaxSize.
package document
