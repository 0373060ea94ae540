package wave

import (
	"fmt"
	"io"
	"math"
	"time"
)

// Stretch is a piece of a drive that a strip shades or names.
type Stretch struct {
	Start, End time.Duration
	Kind       StretchKind
	Label      string // short; may hold text of a recording
}

// StretchKind is what a stretch is.
type StretchKind uint8

// The kinds, in the order in which they are drawn.
const (
	Usable  StretchKind = iota // shudder would have shown
	Shudder                    // it did
	Felt                       // a person in the car pressed the key
	Note                       // a person wrote it down
)

// Drive is a whole drive as a strip shows it.
type Drive struct {
	Length    time.Duration
	RPM       []Reading
	Throttle  []Reading
	Speed     []Reading
	Stretches []Stretch
}

// Places of the strip, in units of SVG: the row of marks, the course of engine speed.
const (
	marksTop, marksLow = 50.0, 100.0
	stripLow           = 320.0
)

// shades are the colours of the kinds.
var shades = [...]string{Usable: "#e4efe4", Shudder: "#d04020", Felt: "#0050a0", Note: "#444444"}

// Strip writes a whole drive as one SVG picture: engine speed as lowest and highest of each moment,
// throttle and road speed under it, shudder and marks above it, usable time shaded.
func Strip(w io.Writer, d *Drive, a *About) error {
	p := &page{}
	p.begin(a, svgHigh)
	for kind := Usable; kind <= Note; kind++ {
		for _, s := range d.Stretches {
			if s.Kind == kind {
				p.stretch(s, d.Length)
			}
		}
	}
	p.text(svgLeft-6, marksLow-8, "end", "#000000", "felt, notes")
	p.text(svgLeft-6, marksTop+14, "end", shades[Shudder], "shudder")
	p.seconds(0, d.Length, marksLow, thinTop+2*thinHigh+thinGap, a)
	p.envelope(d)
	c := &Cut{To: d.Length}
	p.thin("throttle", "%", d.Throttle, c, thinTop, 20)
	p.thin("speed", "km/h", d.Speed, c, thinTop+thinHigh+thinGap, 20)
	p.WriteString("</svg>\n")
	_, err := w.Write(p.Bytes())
	return err
}

// stretch draws one of them. What is short is a line wide all the same.
func (p *page) stretch(s Stretch, length time.Duration) {
	x, to := timeOf(s.Start, 0, length), timeOf(s.End, 0, length)
	to = max(to, x+1.5)
	switch s.Kind {
	case Usable:
		p.box(x, marksLow, to, stripLow, shades[s.Kind])
	case Shudder:
		p.box(x, marksTop, to, marksTop+20, shades[s.Kind])
		p.rule(x, marksTop+20, x, stripLow, shades[s.Kind], "2 3")
	default:
		p.box(x, marksLow-20, to, marksLow, shades[s.Kind])
	}
	if s.Label != "" {
		p.text(x+3, marksLow-22, "start", shades[s.Kind], s.Label)
	}
}

// envelope draws engine speed: lowest and highest of each moment as one upright line.
func (p *page) envelope(d *Drive) {
	lo, hi := Bounds(d.RPM, 0, d.Length, 500)
	if !usable(lo) {
		p.text(svgLeft+6, stripLow-20, "start", "#000000", "engine speed not read")
		return
	}
	p.text(svgLeft-6, marksLow+14, "end", "#000000", fmt.Sprintf("%.0f rpm", hi))
	p.text(svgLeft-6, stripLow, "end", "#000000", fmt.Sprintf("%.0f rpm", lo))
	p.text(svgLeft-6, (marksLow+stripLow)/2, "end", "#000000", "engine speed")
	high := func(v float64) float64 { return stripLow - (v-lo)/(hi-lo)*(stripLow-marksLow) }
	const wide = 1.0
	var l path
	for x, i := svgLeft, 0; x < svgRight; x += wide {
		low, top := math.Inf(1), math.Inf(-1)
		for ; i < len(d.RPM) && timeOf(d.RPM[i].At, 0, d.Length) < x+wide; i++ {
			if v := d.RPM[i].Value; usable(v) {
				low, top = min(low, v), max(top, v)
			}
		}
		if low <= top {
			l.to(x, high(top)-0.5, true)
			l.to(x, high(low)+0.5, false)
		}
	}
	p.path(&l, "#000000", wide)
}
