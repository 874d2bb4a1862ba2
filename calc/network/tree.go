package network

import "slices"

// A node is a face in the tree of what is known from one another: the faces that
// lengths, packs and touches lead to hang together under one root, so that the
// way between two of them is found by climbing.
type node struct {
	root  *node
	size  int // faces under a root; only a root's is kept
	depth int // links to the root
	up    link
	links []link
}

// A link is one step along the tree.
type link struct {
	to    *node
	name  string // a length's, or a shaft's where touch is set
	touch string // the bearing's name
	coef  int64  // +1 walked forward, −1 back
}

func newNode() *node {
	n := &node{size: 1}
	n.root = n
	return n
}

// alone tells whether nothing leads to a face.
func (n *node) alone() bool { return len(n.links) == 0 }

// join links two faces that no way joins yet. The smaller tree is hung under the
// larger one, so that a face is hung anew only a few times however many there are.
func (n *Net) join(from, to, name, touch string) {
	a, b := n.faces[from], n.faces[to]
	out, back := link{b, name, touch, +1}, link{a, name, touch, -1}
	a.links, b.links = append(a.links, out), append(b.links, back)
	if a.root.size < b.root.size {
		a.hang(out)
		return
	}
	b.hang(back)
}

// hang hangs a tree, by the face n of it, under the face that a link leads to.
func (n *node) hang(under link) {
	under.to.root.size += n.root.size
	n.up = under
	for hung := []*node{n}; len(hung) > 0; {
		at := hung[len(hung)-1]
		hung = hung[:len(hung)-1]
		at.root, at.depth = at.up.to.root, at.up.to.depth+1
		for _, l := range at.links {
			if l.to != at.up.to {
				l.to.up = link{at, l.name, l.touch, -l.coef}
				hung = append(hung, l.to)
			}
		}
	}
}

// way is the one walk along the tree between two faces.
func (n *Net) way(from, to string) ([]link, bool) {
	a, b := n.faces[from], n.faces[to]
	if a == nil || b == nil || a.root != b.root {
		return nil, false
	}
	way, end := make([]link, 0, a.depth+b.depth), []link(nil)
	for a != b {
		if a.depth >= b.depth {
			way = append(way, a.up)
			a = a.up.to
			continue
		}
		back := b.up
		back.coef = -back.coef
		end = append(end, back)
		b = b.up.to
	}
	slices.Reverse(end)
	return append(way, end...), true
}
