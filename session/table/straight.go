package table

import (
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/pids"
)

// A file with a row at fixed times may hold, between two readings, what a program computed: the straight
// line from one to the next. Such rows show no swing between the readings, however fast the rows come.
//
// The rule looks at each three rows in which engine speed moves by much more than the step in which it is
// written, and at how far the middle one is off the straight line between its neighbours. Measured on the
// five real drives of fixtures/drives, also rounded to steps of 0.25 to 25 rpm and with only each 2nd, 4th
// or 8th reading: within one step lie up to 0.62 of all, but never more than twice as many as in the band
// of one to three steps, as scatter has no edge. The four slow ones, interpolated to 4, 10 and 30 rows a
// second and rounded to 0.01 to 1 rpm: 0.44 to 0.96, and more than four times as many as in that band. The
// thresholds lie between the two. A smooth curve through the readings has no edge either: it is not found.
const (
	finestStep   = 0.01 // rpm: digits beyond it are those of a computation
	movesBy      = 8    // steps, from the first of three rows to the third
	timeSlack    = 1e-3 // s: times are rounded too, as to milliseconds
	bandWidth    = 3    // the band beside the line, in widths of the line
	overBand     = 3    // times as many on the line as in the band
	straightFrom = 0.3  // share on the line
	fewestMoving = 50   // threes of rows: with fewer nothing is said
)

// Straight is engine speed that a file holds in rows on straight lines between far fewer readings.
type Straight struct {
	ECU             string
	Rows, Kept      int
	RowEvery, Every time.Duration // usual time from row to row, and from reading to reading
}

// straight is engine speed of one ECU, row by row.
type straight struct {
	at    []float64 // s
	v     []float64 // rpm
	place []int     // in the samples
	step  float64   // in which it is written, rpm
}

// onlyRead leaves out the rows of engine speed that were computed between two readings.
func (c *importing) onlyRead() {
	var ecus []string
	of := map[string]*straight{}
	for i, s := range c.Samples {
		if s.Signal != pids.RPM {
			continue
		}
		l := of[s.ECU]
		if l == nil {
			l = &straight{}
			of[s.ECU] = l
			ecus = append(ecus, s.ECU)
		}
		l.at, l.v, l.place = append(l.at, s.At.Seconds()), append(l.v, s.Value), append(l.place, i)
	}
	left := make([]bool, len(c.Samples))
	for _, ecu := range ecus {
		l := of[ecu]
		if l.step = writtenStep(l.v); !l.computed() {
			continue
		}
		kept, every := l.readings()
		for _, i := range l.place {
			left[i] = true
		}
		for _, k := range kept {
			left[l.place[k]] = false
		}
		c.Straight = append(c.Straight, Straight{ecu, len(l.v), len(kept), seconds(l.rowEvery()), seconds(every)})
	}
	if len(c.Straight) == 0 {
		return
	}
	i := -1
	c.Samples = slices.DeleteFunc(c.Samples, func(pids.Sample) bool { i++; return left[i] })
}

// writtenStep is the step that all values are multiples of.
func writtenStep(values []float64) float64 {
	step := 0
	for _, v := range values {
		if math.Abs(v) > 1e9 {
			continue
		}
		for a := int(math.Round(math.Abs(v) / finestStep)); a != 0; {
			step, a = a, step%a
		}
	}
	return max(1, float64(step)) * finestStep
}

// width is how far row i may be off a straight line by rounding alone.
func (l *straight) width(i int) float64 {
	return l.step*(1+1e-9) + timeSlack*math.Abs(l.v[i]-l.v[i-1])/(l.at[i]-l.at[i-1])
}

// computed reports whether most rows were computed.
func (l *straight) computed() bool {
	moving, on, beside := 0, 0, 0
	for i := 1; i+1 < len(l.v); i++ {
		before, after := l.at[i]-l.at[i-1], l.at[i+1]-l.at[i]
		move := l.v[i+1] - l.v[i-1]
		if before <= 0 || after <= 0 || math.Abs(move) < movesBy*l.step {
			continue
		}
		moving++
		off := math.Abs(l.v[i] - l.v[i-1] - move*before/(before+after))
		switch w := l.width(i); {
		case off <= w:
			on++
		case off <= bandWidth*w:
			beside++
		}
	}
	return moving >= fewestMoving && float64(on) >= straightFrom*float64(moving) && on >= overBand*beside
}

// line is a straight line through rows: from its first row to that of the next line.
type line struct {
	from, next int
	level      bool
}

// lines are the straight lines that the rows lie on, one after the other.
func (l *straight) lines() (lines []line) {
	for from := 0; from < len(l.v); {
		end := l.reach(from)
		low, high := slices.Min(l.v[from:end+1]), slices.Max(l.v[from:end+1])
		next := end + 1
		// The last row may be the first of the next line too, as a corner is. Where the corner lies between
		// two rows it is not, and a line from it soon ends.
		if next < len(l.v) && end > from && l.reach(end) >= l.reach(next) {
			next = end
		}
		lines = append(lines, line{from, next, high-low < movesBy*l.step})
		from = next
	}
	return lines
}

// reach is the last row that a straight line from a row goes through: as long as there is a slope that
// fits all rows.
func (l *straight) reach(from int) int {
	least, most := math.Inf(-1), math.Inf(1)
	for i := from + 1; i < len(l.v); i++ {
		if l.at[i] <= l.at[i-1] {
			return i - 1
		}
		long, w := l.at[i]-l.at[from], l.width(i)
		least, most = max(least, (l.v[i]-l.v[from]-w)/long), min(most, (l.v[i]-l.v[from]+w)/long)
		if !(least <= most) {
			return i - 1
		}
	}
	return len(l.v) - 1
}

// readings are the rows that were read, and the usual time between them: the first row of each line. A
// level line, as of an engine that stands still, hides its readings; of it a row is kept as often as usual.
func (l *straight) readings() (kept []int, every float64) {
	lines := l.lines()
	var long []float64
	for _, n := range lines {
		if n.next < len(l.v) && !n.level {
			long = append(long, l.at[n.next]-l.at[n.from])
		}
	}
	every = usual(long)
	for _, n := range lines {
		kept = append(kept, n.from)
		last := l.at[n.from]
		for i := n.from + 1; n.level && i < n.next; i++ {
			if at := l.at[i]; at-last >= every && (n.next == len(l.v) || l.at[n.next]-at >= every/2) {
				kept, last = append(kept, i), at
			}
		}
	}
	return kept, every
}

// rowEvery is the usual time from row to row.
func (l *straight) rowEvery() float64 {
	var apart []float64
	for i := range l.at[1:] {
		apart = append(apart, l.at[i+1]-l.at[i])
	}
	return usual(apart)
}

// usual is the mean of times without those that are far longer than most; 0 of nothing.
func usual(times []float64) (mean float64) {
	slices.Sort(times)
	n := 0.0
	for _, t := range times {
		if t <= 3*times[len(times)/2] {
			mean, n = mean+t, n+1
		}
	}
	return mean / max(1, n)
}

func seconds(s float64) time.Duration {
	return time.Duration(s * float64(time.Second)).Round(time.Microsecond)
}
