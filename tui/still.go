package tui

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// stillAfter is how long a signal must not have changed to shrink to its number.
const stillAfter = time.Minute

// isStill reports whether a signal has not changed for so long, as far as its number shows.
func isStill(l *session.Lane, now time.Duration) bool {
	from := now - stillAfter
	if len(l.History) == 0 || from < 0 || l.History[0].At > from {
		return false
	}
	first := max(firstPoint(l.History, from+1)-1, 0) // what held then
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range l.History[first:] {
		if math.IsNaN(p.Value) {
			return false
		}
		lo, hi = min(lo, p.Value), max(hi, p.Value)
	}
	return hi-lo < math.Pow(10, -float64(digitsOf(l)))
}

// share divides the rows of the signals: a line for each that changes, and lines with the numbers of
// those that have not. It returns how many rows are left over, and takes them from the layout.
func (p *pictures) share(v *view, l *layout) (over int) {
	p.moving, p.still, p.seen = p.moving[:0], p.still[:0], 0
	var quiet []*session.Lane
	for _, lane := range p.choice.visible(p.order) {
		if isStill(lane, v.snap.Now) {
			quiet = append(quiet, lane)
		} else {
			p.moving = append(p.moving, lane)
		}
	}
	if l.lanes == 0 {
		p.moving = p.moving[:0]
		return 0
	}
	numbers := 0
	if len(quiet) > 0 && (l.lanes > 1 || len(p.moving) == 0) {
		p.still, numbers = stillLines(v, quiet, max(l.lanes-len(p.moving), 1))
	}
	rows := l.lanes - len(p.still)
	if rows < len(p.moving) {
		drawnElsewhereLast(p.moving, l.chart > 0)
		p.moving = p.moving[:rows]
	}
	p.seen = len(p.moving) + numbers
	over = rows - len(p.moving)
	l.lanes -= over
	return over
}

// stillLines write signals as numbers, in at most so many lines; shown is how many had room.
func stillLines(v *view, lanes []*session.Lane, most int) (lines []string, shown int) {
	const gap = "   "
	line, used := "", 0
	room := v.w - axisWidth - 1
	for _, l := range lanes {
		name := prose.Clean(plainName(l.Signal))
		value := fixed(l.Value, digitsOf(l))
		if v.snap.Now-l.At > max(holdTime(l.History), 3*time.Second) {
			value = dash
		}
		if l.Unit != "" {
			value += " " + prose.Clean(l.Unit)
		}
		w := prose.Cells(name) + 1 + prose.Cells(value)
		if used > 0 && used+len(gap)+w > room {
			if len(lines)+1 == most {
				break
			}
			lines, line, used = append(lines, line), "", 0
		}
		if w > room {
			continue
		}
		if used > 0 {
			line, used = line+gap, used+len(gap)
		}
		line, used = line+v.theme.faint.on(name)+" "+value, used+w
		shown++
	}
	lines = append(lines, line)
	for i := range lines {
		label := ""
		if i == 0 {
			label = " still"
		}
		lines[i] = v.theme.faint.on(left(label, axisWidth)) + lines[i]
	}
	return lines, shown
}

// asksAbout are the signals that the large word asks about, by why this moment shows nothing.
var asksAbout = map[detect.Reason][]pids.Signal{
	detect.ThrottleMoving: session.DriverDemand,
	detect.ClosedThrottle: session.DriverDemand,
	detect.SpeedChanging:  {pids.VSS},
	detect.OutsideBand:    {pids.VSS},
	detect.NoRoadSpeed:    {pids.VSS},
}

// askedAbout reports whether the large word asks about a signal.
func askedAbout(l *session.Lane, v *view) bool {
	if v.word.shown == shudder || v.word.shown == shaking {
		return l.Signal == pids.RPM
	}
	return v.asks(l.Signal)
}

// asks reports whether the reason why this moment shows nothing is about a signal.
func (v *view) asks(signal pids.Signal) bool {
	return slices.Contains(asksAbout[v.snap.Detector.Reason], signal)
}
