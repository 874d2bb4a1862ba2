package exchange

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"shimwright/devices"
)

// Limits of an XML file that is read: a certificate with pictures in it is a few
// MiB, is some ten levels deep and has a few thousand elements.
const (
	MostXML      = 16 << 20 // bytes
	mostDepth    = 64
	mostElements = 200_000
	mostAttrs    = 64 // of one element
)

// A node is an element with what stands in it.
type node struct {
	name xml.Name
	attr []xml.Attr
	text []byte // its own characters, those of its children left out
	kids []*node
	line int
}

// readXML reads a whole file within the limits. A document type, in which entities
// are declared, is refused; so is an entity that is not one of XML's own five, and
// any encoding but UTF-8.
func readXML(data []byte) (*node, error) {
	if len(data) > MostXML {
		return nil, fmt.Errorf("it has more than %d MiB: is it the right file?", MostXML>>20)
	}
	d := xml.NewDecoder(bytes.NewReader(data)) // strict, no entities of its own, no other encodings
	root := &node{}
	open := []*node{root}
	elements := 0
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := d.InputPos()
		if err != nil {
			return nil, wrong(line, err)
		}
		switch t := t.(type) {
		case xml.Directive:
			return nil, fmt.Errorf("line %d: it has a document type (<!%s), which could call in other files or grow without end: none is read; have it written without", line, devices.Quote(t[:min(len(t), 20)]))
		case xml.StartElement:
			if elements++; elements > mostElements || len(open) > mostDepth || len(t.Attr) > mostAttrs {
				return nil, fmt.Errorf("line %d: it has more than %d elements, or more than %d inside one another, or more than %d attributes on one: no certificate has", line, mostElements, mostDepth, mostAttrs)
			}
			n := &node{name: t.Name, attr: t.Attr, line: line}
			parent := open[len(open)-1]
			parent.kids = append(parent.kids, n)
			open = append(open, n)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			n := open[len(open)-1]
			n.text = append(n.text, t...)
		}
	}
	if len(root.kids) != 1 {
		return nil, fmt.Errorf("it holds %d elements on the outside, and a certificate is one: is it whole, and XML?", len(root.kids))
	}
	return root.kids[0], nil
}

// wrong says what the reader of XML said, in words.
func wrong(line int, err error) error {
	said, more := err.Error(), ""
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		said = syntax.Msg
	}
	if strings.HasPrefix(said, "invalid character entity") {
		more = ": only XML's own five are read, and nothing is expanded"
	}
	return fmt.Errorf("line %d: it is no sound XML: %s%s", line, devices.Quote([]byte(said)), more)
}

// kid is the first child of a name; nil where there is none, as of nil.
func (n *node) kid(space, local string) *node {
	if n == nil {
		return nil
	}
	for _, k := range n.kids {
		if k.name.Space == space && k.name.Local == local {
			return k
		}
	}
	return nil
}

// find goes down by names.
func (n *node) find(space string, path ...string) *node {
	for _, local := range path {
		n = n.kid(space, local)
	}
	return n
}

// words are a node's own characters, blanks at the ends taken off.
func (n *node) words() string {
	if n == nil {
		return ""
	}
	return strings.TrimSpace(string(n.text))
}

// attribute is an attribute without a namespace.
func (n *node) attribute(local string) string {
	for _, a := range n.attr {
		if a.Name.Space == "" && a.Name.Local == local {
			return a.Value
		}
	}
	return ""
}
