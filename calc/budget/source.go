package budget

import (
	"fmt"
	"math"

	"shimwright/calc/quantity"
)

// A Kind says how a source's size is given; its standard uncertainty follows.
type Kind uint8

// The kinds of source. Sizes are half widths where the kind has two sides.
const (
	LimitOfError   Kind = iota + 1 // ±a, anywhere within it alike
	Resolution                     // d, one step of the last digit shown
	Repeats                        // s, the standard deviation of single readings; N of them are in the mean
	CertifiedPiece                 // U, expanded with coverage factor K
	MarkRounding                   // d, one digit of an etched mark
	Stated                         // u, a standard uncertainty as it is
	GaugeZero                      // ±a, common to all readings made with one zero
	GaugeScale                     // ±r of the reading, a bare ratio; By is the summed reading
	Temperature                    // ±ΔT in K; By is length × expansion coefficient
	Expansion                      // ±Δα per K of an expansion coefficient; By is length × (T − 20 °C)
	kindEnd
)

// String is the kind in the workshop's words.
func (k Kind) String() string {
	switch k {
	case LimitOfError:
		return "limit of error"
	case Resolution:
		return "resolution"
	case Repeats:
		return "repeats"
	case CertifiedPiece:
		return "certified piece"
	case MarkRounding:
		return "mark rounding"
	case Stated:
		return "stated"
	case GaugeZero:
		return "gauge zero"
	case GaugeScale:
		return "gauge scale"
	case Temperature:
		return "temperature"
	case Expansion:
		return "expansion"
	default:
		return fmt.Sprintf("kind %d", uint8(k))
	}
}

// A Source is one thing that makes a figure unsure.
type Source struct {
	// Name is the same for the same thing wherever it is met: a gauge's number,
	// a piece's serial, a press. Name and Kind together tell sources apart.
	Name string
	Kind Kind
	Size quantity.Exact // nought or more, as the kind says

	// Coef is how often, and which way, the thing counts in the figure. A thing
	// met at several places may be given once with the sum, or place by place.
	// It is not nought: a thing that cancels is left out.
	Coef quantity.Ratio

	// By turns one unit of Size into the unit of the figure and counts times
	// Coef: the summed reading of a scale, mm per K of a temperature. Nil is 1,
	// and is refused where the kind needs it.
	By *quantity.Exact

	K quantity.Exact // of a certified piece: the coverage factor of its certificate
	N int            // of repeats: how many readings are in the mean

	// DF is the degrees of freedom behind Size. Nought means the usual: N − 1
	// for repeats, endless for all else.
	DF float64

	// Pool names the pooled standard deviation that Size comes from, where
	// several sources share one; empty for none. Such a source states its DF.
	Pool string

	// Gauge is the gauge that a limit of error, zero, scale, resolution or run
	// of repeats belongs to; empty where there is none. Halve uses it.
	Gauge string
	// Through says that the thing drops out when the gauge is zeroed through
	// it, as a straightedge does. Halve uses it.
	Through bool
}

// dof is the degrees of freedom behind the source's size, +Inf where it is
// taken as known outright.
func (s Source) dof() float64 {
	switch {
	case s.DF != 0:
		return s.DF
	case s.Kind == Repeats:
		return float64(s.N - 1)
	default:
		return math.Inf(1)
	}
}

// standard is the standard uncertainty of the source itself, coefficient and
// By left aside.
func (s Source) standard() float64 {
	size := s.Size.Float()
	switch s.Kind {
	case LimitOfError, GaugeZero, GaugeScale, Temperature, Expansion:
		return size / math.Sqrt(3)
	case Resolution, MarkRounding:
		return size / math.Sqrt(12)
	case Repeats:
		return size / math.Sqrt(float64(s.N))
	case CertifiedPiece:
		return size / s.K.Float()
	default:
		return size
	}
}

// reach is what one unit of Size does to the figure: Coef × By.
func (s Source) reach() quantity.Exact {
	if s.By == nil {
		return whole(1).Times(s.Coef)
	}
	return s.By.Times(s.Coef)
}
