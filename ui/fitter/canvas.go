package fitter

import (
	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
)

// canvas puts a frame's lines into cells and hands keys on. It draws text cell
// by cell, so that nothing in it is read as a tag.
type canvas struct {
	x, y, width, height int
	focus               bool
	noColor             bool
	frame               func(width, height int) []line
	key                 func(*tcell.EventKey)
	paste               func(string)
	drawn               func() // called after each drawing
}

var _ tview.Primitive = (*canvas)(nil)

// Draw draws the frame.
func (c *canvas) Draw(screen tcell.Screen) {
	for i, l := range c.frame(c.width, c.height) {
		if i < c.height {
			c.line(screen, c.y+i, l)
		}
	}
	screen.HideCursor()
	c.drawn()
}

func (c *canvas) line(screen tcell.Screen, y int, l line) {
	at := 0
	for _, s := range l {
		style := styleOf(s.tone, c.noColor)
		for _, g := range glyphs(visible(s.text)) {
			if at+g.Cells > c.width {
				return
			}
			screen.Put(c.x+at, y, g.Text, style)
			at += g.Cells
		}
	}
}

// styleOf is how a tone looks. Blue-green, yellow and light turned round with
// dark are told apart with the common colour-vision deficiencies; without colour
// weight is left. The words and shapes are the same.
func styleOf(t tone, noColor bool) tcell.Style {
	s := tcell.StyleDefault
	colour := func(c tcell.Color) tcell.Style {
		if noColor {
			return s.Bold(true)
		}
		return s.Foreground(c).Bold(true)
	}
	switch t {
	case faint:
		return s.Dim(true)
	case strong:
		return s.Bold(true)
	case good:
		return colour(tcell.ColorTeal)
	case warn:
		return colour(tcell.ColorOlive)
	case stop, bar:
		return s.Bold(true).Reverse(true)
	}
	return s
}

// GetRect gives the canvas's place.
func (c *canvas) GetRect() (x, y, width, height int) { return c.x, c.y, c.width, c.height }

// SetRect sets it.
func (c *canvas) SetRect(x, y, width, height int) { c.x, c.y, c.width, c.height = x, y, width, height }

// InputHandler hands keys on.
func (c *canvas) InputHandler() func(*tcell.EventKey, func(tview.Primitive)) {
	return func(e *tcell.EventKey, _ func(tview.Primitive)) { c.key(e) }
}

// PasteHandler hands pasted text on, which is never taken for keys.
func (c *canvas) PasteHandler() func(string, func(tview.Primitive)) {
	return func(s string, _ func(tview.Primitive)) { c.paste(s) }
}

// MouseHandler takes no mouse.
func (c *canvas) MouseHandler() func(tview.MouseAction, *tcell.EventMouse, func(tview.Primitive)) (bool, tview.Primitive) {
	return nil
}

// Focus notes that keys come here.
func (c *canvas) Focus(func(tview.Primitive)) { c.focus = true }

// HasFocus tells whether keys come here.
func (c *canvas) HasFocus() bool { return c.focus }

// Blur notes that they do not.
func (c *canvas) Blur() { c.focus = false }
