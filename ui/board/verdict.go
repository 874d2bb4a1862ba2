package board

import (
	"strings"

	"shimwright/calc/ring"
	"shimwright/ui/draw"
)

// A worth is how much a verdict wants looking at; more is worse.
type worth uint8

const (
	unjudged worth = iota
	isGood
	isClose
	isOut
)

// worthOf sorts a verdict's word. "as found" has no limits and is neither.
func worthOf(verdict string) worth {
	switch verdict {
	case ring.Good.String():
		return isGood
	case ring.TooClose.String():
		return isClose
	case ring.OutLow.String(), ring.OutHigh.String(), ring.NotGood.String(), "out":
		return isOut
	}
	return unjudged
}

// verdictMark is a verdict's shape and its tone.
func verdictMark(verdict string) (string, draw.Tone) {
	switch worthOf(verdict) {
	case isGood:
		return "●", draw.Good
	case isClose:
		return "?", draw.Warn
	case isOut:
		switch verdict {
		case ring.OutHigh.String():
			return "▲", draw.Stop
		case ring.OutLow.String():
			return "▼", draw.Stop
		}
		return "X", draw.Stop
	}
	return "·", draw.Plain
}

// verdictWord is a verdict as it is shown.
func verdictWord(verdict string) string {
	switch verdict {
	case "":
		return "not judged"
	case ring.TooClose.String():
		return "TOO CLOSE"
	}
	return strings.ToUpper(verdict)
}
