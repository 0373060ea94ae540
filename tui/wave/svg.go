package wave

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"
	"time"
)

// About are the words of a picture as SVG. They may hold text of a recording: all of it is escaped.
type About struct {
	Title string // one line; also what a screen reader says first
	Text  string // what there is to see, for who cannot see it
	Clock func(time.Duration) string
	ID    string // letters and digits; tells the pictures of one page apart
}

// The picture's size and its fields, in units of SVG.
const (
	svgWide, svgHigh  = 960.0, 480.0
	svgLeft, svgRight = 120.0, 930.0
	waveTop, waveLow  = 60.0, 320.0
	thinTop, thinHigh = 340.0, 40.0
	thinGap           = 12.0
)

// page writes an SVG; every text goes through text, which escapes it.
type page struct{ bytes.Buffer }

// escaped is a text without a character that could end it, or that XML does not allow.
func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder takes everything
	return b.String()
}

func (p *page) printf(format string, args ...any) {
	_, _ = fmt.Fprintf(&p.Buffer, format, args...) // a bytes.Buffer takes everything
}

func (p *page) begin(a *About, high float64) {
	p.printf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" role="img" aria-labelledby="t%s d%s" font-family="sans-serif" font-size="14">`+"\n", svgWide, high, escaped(a.ID), escaped(a.ID))
	p.printf("<title id=\"t%s\">%s</title>\n<desc id=\"d%s\">%s</desc>\n", escaped(a.ID), escaped(a.Title), escaped(a.ID), escaped(a.Text))
	p.printf(`<rect width="%.0f" height="%.0f" fill="#ffffff"/>`+"\n", svgWide, high)
	p.text(svgLeft, 26, "start", "#000000", a.Title)
}

func (p *page) text(x, y float64, anchor, colour, s string) {
	p.printf(`<text x="%.1f" y="%.1f" text-anchor="%s" fill="%s">%s</text>`+"\n", x, y, anchor, colour, escaped(s))
}

func (p *page) rule(x, y, toX, toY float64, colour, dashes string) {
	p.printf(`<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-dasharray="%s"/>`+"\n", x, y, toX, toY, colour, dashes)
}

func (p *page) box(x, y, toX, toY float64, colour string) {
	p.printf(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="%s"/>`+"\n", x, y, max(toX-x, 0), toY-y, colour)
}

// path is a broken line under construction.
type path struct{ d strings.Builder }

func (l *path) to(x, y float64, first bool) {
	c := 'L'
	if first || l.d.Len() == 0 {
		c = 'M'
	}
	fmt.Fprintf(&l.d, "%c%.1f %.1f", c, x, y)
}

func (p *page) path(l *path, colour string, wide float64) {
	if l.d.Len() > 0 {
		p.printf(`<path d="%s" fill="none" stroke="%s" stroke-width="%.1f" stroke-linejoin="round"/>`+"\n", l.d.String(), colour, wide)
	}
}

// timeOf is the horizontal place of a time.
func timeOf(at, from, to time.Duration) float64 {
	return svgLeft + (svgRight-svgLeft)*float64(at-from)/float64(max(to-from, 1))
}

// seconds draws the time axis under a picture: clock times at both ends, a mark at whole steps, and
// what the axis is.
func (p *page) seconds(from, to time.Duration, top, y float64, a *About) {
	step := time.Second
	for _, s := range []time.Duration{2, 5, 10, 30, 60, 120, 300, 600, 1800, 3600} {
		if (to-from)/step > 14 {
			step = s * time.Second
		}
	}
	for t := (from + step - 1) / step * step; t <= to; t += step {
		p.rule(timeOf(t, from, to), top, timeOf(t, from, to), y, "#dddddd", "none")
	}
	p.text(svgLeft, y+20, "start", "#444444", a.Clock(from))
	p.text((svgLeft+svgRight)/2, y+20, "middle", "#444444", fmt.Sprintf("time of the drive; a line every %.0f s", step.Seconds()))
	p.text(svgRight, y+20, "end", "#444444", a.Clock(to))
}

// SVG writes the wave of a cut as one SVG picture, with throttle and road speed under it.
func (t *Trace) SVG(w io.Writer, c *Cut, reach float64, a *About) error {
	p := &page{}
	p.begin(a, svgHigh)
	if c.End > c.Start {
		p.box(timeOf(max(c.Start, c.From), c.From, c.To), waveTop, timeOf(min(c.End, c.To), c.From, c.To), waveLow, "#fff0d0")
	}
	p.seconds(c.From, c.To, waveTop, thinTop+2*thinHigh+thinGap, a)
	high := func(rpm float64) float64 {
		return (waveTop+waveLow)/2 - max(-1, min(rpm/reach, 1))*(waveLow-waveTop)/2
	}
	for _, rpm := range []float64{reach, 0, -reach} {
		p.rule(svgLeft, high(rpm), svgRight, high(rpm), "#bbbbbb", "none")
		p.text(svgLeft-6, high(rpm)+5, "end", "#000000", signed(rpm))
	}
	if c.AlarmRPM > 0 && c.AlarmRPM/2 < reach {
		for _, rpm := range []float64{c.AlarmRPM / 2, -c.AlarmRPM / 2} {
			p.rule(svgLeft, high(rpm), svgRight, high(rpm), "#b03000", "6 4")
		}
		p.text(svgRight, waveTop-8, "end", "#b03000", fmt.Sprintf("dashed: alarm at %.0f rpm peak to peak", c.AlarmRPM))
	}
	for _, s := range t.Steps {
		x := timeOf(s.At, c.From, c.To)
		p.rule(x, waveTop, x, waveLow, "#0050a0", "2 3")
		p.text(x+4, waveLow-6, "start", "#0050a0", signed(s.RPM))
	}
	p.wave(t, c, high)
	p.thin("throttle", "%", c.Throttle, c, thinTop, 20)
	p.thin("speed", "km/h", c.Speed, c, thinTop+thinHigh+thinGap, 20)
	p.WriteString("</svg>\n")
	_, err := w.Write(p.Bytes())
	return err
}

// signed is a value above or below the trend.
func signed(rpm float64) string {
	if rpm == 0 {
		return "0 rpm"
	}
	return fmt.Sprintf("%+.0f rpm", rpm)
}

// wave draws the line, or single points where a line would show a form that is not there.
func (p *page) wave(t *Trace, c *Cut, high func(float64) float64) {
	if !t.Line() {
		for _, q := range t.Points {
			p.printf(`<circle cx="%.1f" cy="%.1f" r="2.5" fill="#000000"/>`+"\n", timeOf(q.At, c.From, c.To), high(q.RPM))
		}
		p.text(svgLeft+6, waveTop+18, "start", "#000000", TooFew)
		return
	}
	var l path
	for _, q := range t.Points {
		l.to(timeOf(q.At, c.From, c.To), high(q.RPM), q.First)
	}
	p.path(&l, "#000000", 1.8)
}

// thin draws one signal as a thin line between its own bounds, which are at least smallest apart.
func (p *page) thin(name, unit string, rs []Reading, c *Cut, top, smallest float64) {
	low := top + thinHigh
	p.text(svgLeft-6, low-thinHigh/2-4, "end", "#444444", name)
	lo, hi := Bounds(rs, c.From, c.To, smallest)
	if !usable(lo) {
		p.text(svgLeft+6, low-thinHigh/2+5, "start", "#444444", "not read")
		return
	}
	p.text(svgLeft-6, low-thinHigh/2+12, "end", "#444444", fmt.Sprintf("%.0f to %.0f %s", lo, hi, unit))
	var l path
	last := time.Duration(math.MinInt64)
	for _, r := range rs {
		if r.At < c.From || r.At > c.To || !usable(r.Value) {
			continue
		}
		const hold = 5 * time.Second
		l.to(timeOf(r.At, c.From, c.To), low-(r.Value-lo)/(hi-lo)*thinHigh, last < 0 || r.At-last > hold)
		last = r.At
	}
	p.path(&l, "#444444", 1)
}

// Bounds are round bounds around the readings in view, at least smallest apart; not numbers where
// there are none.
func Bounds(rs []Reading, from, to time.Duration, smallest float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, r := range rs {
		if r.At >= from && r.At <= to && usable(r.Value) {
			lo, hi = min(lo, r.Value), max(hi, r.Value)
		}
	}
	if lo > hi {
		return math.NaN(), math.NaN()
	}
	const round = 5
	middle := (lo + hi) / 2
	lo, hi = min(lo, middle-smallest/2), max(hi, middle+smallest/2)
	return math.Floor(lo/round) * round, math.Ceil(hi/round) * round
}

// RoundReach is the value axis for a reach: a round number with some room above it, and room for
// the alarm level, in rpm.
func RoundReach(reach, alarmRPM float64) float64 {
	want := max(reach*1.05, 20)
	if alarmRPM > 0 {
		want = max(want, alarmRPM/2*1.2)
	}
	p := math.Pow(10, math.Floor(math.Log10(want)))
	for _, m := range []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8} {
		if m*p >= want {
			return m * p
		}
	}
	return 10 * p
}
