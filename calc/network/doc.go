// Package network is the model at the core: faces along axes, lengths between
// them, and the one way round that gives every sign.
//
// A sheet's author lists the faces of each axis in the order of the nominal
// drawing and says between which two faces each length runs. Nobody types a
// sign. Found lengths, packs and one touch of each shaft form a tree, so that
// between two faces there is exactly one way; a wanted length or a length found
// as a check closes a loop of its own. A walk along the tree gives +1 to a
// length walked from its first face to its second, −1 the other way.
//
// A shaft that can float has a touch at each of its two bearings. Its setting F
// (end float, or preload when below nought) is what the two touches add up to;
// a State says how F is shared between them. With the shaft closed each
// bearing gives its share of the squeeze, one half unless the sheet says: that
// share is our own mechanics, without a published source.
//
// The package knows no figures: it hands out linear forms over the names of
// lengths, and rows that say what one more of a pack does.
package network
