package drawing

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"shimwright/calc/sheet"
)

// SVG writes the drawing of a sheet as one SVG image, its pages under one another.
func SVG(w io.Writer, s *sheet.Sheet) error {
	pages := pagesOf(s)
	var b bytes.Buffer
	high := pageHigh * float64(len(pages))
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="0 0 %g %g" font-family="Go, Arial, 'Liberation Sans', Helvetica, 'DejaVu Sans Condensed', sans-serif">`+"\n", pageWide, high, pageWide, high)
	fmt.Fprintf(&b, "<title>%s</title>\n", escaped(fmt.Sprintf("Sheet %s, issue %d", s.ID, s.Issue)))
	fmt.Fprintf(&b, `<rect width="%g" height="%g" fill="#fff"/>`+"\n", pageWide, high)
	for i, p := range pages {
		fmt.Fprintf(&b, `<g transform="translate(0 %g)">`+"\n", pageHigh*float64(i))
		if i > 0 {
			fmt.Fprintf(&b, `<line x1="0" y1="0" x2="%g" y2="0" stroke="#999" stroke-width="0.2"/>`+"\n", pageWide)
		}
		for _, m := range p.marks {
			m.onSVG(&b)
		}
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

func (m mark) onSVG(b *bytes.Buffer) {
	c := int(m.grey * 255)
	colour := fmt.Sprintf("#%02x%02x%02x", c, c, c)
	at := m.points[0]
	switch {
	case m.words != "":
		more := ""
		if m.bold {
			more += ` font-weight="bold"`
		}
		if m.anchor != start {
			more += fmt.Sprintf(` text-anchor="%s"`, [...]string{"start", "middle", "end"}[m.anchor])
		}
		if m.turned != 0 {
			more += fmt.Sprintf(` transform="rotate(%s %s %s)"`, mm(-m.turned), mm(at[0]), mm(at[1]))
		}
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s"%s>%s</text>`+"\n", mm(at[0]), mm(at[1]), mm(m.size*pt), more, escaped(m.words))
	case m.fill:
		var points []string
		for _, q := range m.points {
			points = append(points, mm(q[0])+","+mm(q[1]))
		}
		fmt.Fprintf(b, `<polygon points="%s" fill="%s"/>`+"\n", strings.Join(points, " "), colour)
	default:
		more := ""
		if p := m.dash.pattern(); len(p) > 0 {
			more = fmt.Sprintf(` stroke-dasharray="%g %g"`, p[0], p[1])
		}
		fmt.Fprintf(b, `<line x1="%s" y1="%s" x2="%s" y2="%s" stroke="%s" stroke-width="%g"%s/>`+"\n",
			mm(at[0]), mm(at[1]), mm(m.points[1][0]), mm(m.points[1][1]), colour, m.width, more)
	}
}

// mm is a place to a hundredth of a millimetre, the same on every machine.
func mm(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", x), "0"), ".")
}

// escaped is words as XML has them.
func escaped(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		return ""
	}
	return b.String()
}
