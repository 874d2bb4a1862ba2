package sheet

import (
	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// above reads a figure that must be above nought, as a limit, a size or a
// thickness must.
func above(n document.Node, dim quantity.Dimension) quantity.Value {
	v := n.Figure(dim)
	if read(v, dim) && v.Exact().Sign() <= 0 {
		n.Fail("%s stands here: a figure above nought is wanted", v)
	}
	return v
}

// notBelow reads a figure that may be nought and not below.
func notBelow(n document.Node, dim quantity.Dimension) quantity.Value {
	v := n.Figure(dim)
	if read(v, dim) && v.Exact().Sign() < 0 {
		n.Fail("%s stands here: a figure not below nought is wanted", v)
	}
	return v
}

// read tells whether a figure was there and could be read.
func read(v quantity.Value, dim quantity.Dimension) bool { return v.Unit().Dimension() == dim }

// angle reads an angle from low degrees up to, and short of, high.
func angle(n document.Node, low, high int64) quantity.Value {
	v := n.Figure(quantity.Angle)
	one := quantity.FromDecimal(quantity.Degree.Factor())
	from, to := one.Times(quantity.Whole(low)), one.Times(quantity.Whole(high))
	if read(v, quantity.Angle) && (v.Exact().Less(from) || !v.Exact().Less(to)) {
		n.Fail("%s stands here: an angle from %d deg and below %d deg is wanted", v, low, high)
	}
	return v
}
