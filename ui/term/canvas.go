package term

import (
	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"shimwright/ui/draw"
)

// A Canvas puts rows into cells and hands keys on. It draws text cell by cell, so
// that nothing in it is read as a tag.
type Canvas struct {
	NoColor bool                               // weight, words and shapes alone
	Far     bool                               // looked at from afar: what is good is heavy too
	Frame   func(width, height int) []draw.Row // what to draw
	Key     func(*tcell.EventKey)              // takes each key
	Paste   func(string)                       // takes pasted text, which is never taken for keys
	Drawn   func()                             // called after each drawing

	x, y, width, height int
	focus               bool
}

var _ tview.Primitive = (*Canvas)(nil)

// Draw draws the frame.
func (c *Canvas) Draw(screen tcell.Screen) {
	for i, r := range c.Frame(c.width, c.height) {
		if i < c.height {
			c.row(screen, c.y+i, r)
		}
	}
	screen.HideCursor()
	c.Drawn()
}

func (c *Canvas) row(screen tcell.Screen, y int, r draw.Row) {
	at := 0
	for _, s := range r {
		style := Style(s.Tone, c.NoColor)
		if c.Far && s.Tone == draw.Good {
			style = style.Bold(true)
		}
		for _, g := range draw.Glyphs(s.Text) {
			if at+g.Cells > c.width {
				return
			}
			screen.Put(c.x+at, y, g.Text, style)
			at += g.Cells
		}
	}
}

// Style is how a tone looks. Blue-green, yellow and light turned round with dark
// are told apart with the common colour-vision deficiencies; without colour
// weight alone is left. The words and shapes are the same.
func Style(t draw.Tone, noColor bool) tcell.Style {
	s := tcell.StyleDefault
	switch t {
	case draw.Faint:
		return s.Dim(true)
	case draw.Strong:
		return s.Bold(true)
	case draw.Good:
		if !noColor {
			s = s.Foreground(tcell.ColorTeal)
		}
		return s
	case draw.Warn:
		if !noColor {
			s = s.Foreground(tcell.ColorOlive)
		}
		return s.Bold(true)
	case draw.Stop, draw.Bar:
		return s.Bold(true).Reverse(true)
	}
	return s
}

// GetRect gives the canvas's place.
func (c *Canvas) GetRect() (x, y, width, height int) { return c.x, c.y, c.width, c.height }

// SetRect sets it.
func (c *Canvas) SetRect(x, y, width, height int) { c.x, c.y, c.width, c.height = x, y, width, height }

// InputHandler hands keys on.
func (c *Canvas) InputHandler() func(*tcell.EventKey, func(tview.Primitive)) {
	return func(e *tcell.EventKey, _ func(tview.Primitive)) { c.Key(e) }
}

// PasteHandler hands pasted text on.
func (c *Canvas) PasteHandler() func(string, func(tview.Primitive)) {
	return func(s string, _ func(tview.Primitive)) { c.Paste(s) }
}

// MouseHandler takes no mouse.
func (c *Canvas) MouseHandler() func(tview.MouseAction, *tcell.EventMouse, func(tview.Primitive)) (bool, tview.Primitive) {
	return nil
}

// Focus notes that keys come here.
func (c *Canvas) Focus(func(tview.Primitive)) { c.focus = true }

// HasFocus tells whether keys come here.
func (c *Canvas) HasFocus() bool { return c.focus }

// Blur notes that they do not.
func (c *Canvas) Blur() { c.focus = false }
