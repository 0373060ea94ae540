package detect

import "math"

// bins of a running median: logarithmic, 3 % wide, from binLow upward.
const (
	binLow   = 0.1 // rpm
	binWidth = 0.03
	binCount = 384 // to about 10 000 rpm
)

// runningMedian is the median of the values of the last span seconds, leaving out the last
// lag seconds. Values are held in logarithmic bins, so it is right to 1.5 %.
type runningMedian struct {
	span, lag float64
	at        []float64 // ring: times
	bin       []uint16  // ring: bins
	out       int       // oldest value that counts
	in        int       // oldest value that waits for the lag
	next      int       // where the next value goes
	hist      [binCount]int32
	n         int // values that count
}

// newRunningMedian returns a median that holds at most size values.
func newRunningMedian(span, lag float64, size int) runningMedian {
	return runningMedian{span: span, lag: lag, at: make([]float64, size), bin: make([]uint16, size)}
}

func binOf(v float64) uint16 {
	if !(v > binLow) {
		return 0
	}
	return uint16(min(binCount-1, 1+math.Log(v/binLow)/binWidth))
}

func valueOf(bin int) float64 {
	if bin == 0 {
		return binLow
	}
	return binLow * math.Exp((float64(bin)-0.5)*binWidth)
}

// add puts a value in line; it counts once it is older than the lag.
func (m *runningMedian) add(t, v float64) {
	m.advance(t)
	size := len(m.at)
	after := (m.next + 1) % size
	if after == m.out {
		m.drop()
	}
	m.at[m.next], m.bin[m.next] = t, binOf(v)
	m.next = after
}

// advance lets the values older than the lag count and drops those older than the span.
func (m *runningMedian) advance(now float64) {
	for m.in != m.next && m.at[m.in] <= now-m.lag {
		m.hist[m.bin[m.in]]++
		m.n++
		m.in = (m.in + 1) % len(m.at)
	}
	for m.out != m.next && m.at[m.out] < now-m.span {
		m.drop()
	}
}

func (m *runningMedian) drop() {
	if m.out == m.in { // it still waits
		m.in = (m.in + 1) % len(m.at)
	} else {
		m.hist[m.bin[m.out]]--
		m.n--
	}
	m.out = (m.out + 1) % len(m.at)
}

// forget takes the values that still wait out of line: they belong to an alarm.
func (m *runningMedian) forget() { m.next = m.in }

// median returns the median of the values that count; NaN with fewer than least.
func (m *runningMedian) median(least int) float64 {
	if m.n < least || m.n == 0 {
		return math.NaN()
	}
	half, sum := int32(m.n+1)/2, int32(0)
	for i, c := range m.hist {
		sum += c
		if sum >= half {
			return valueOf(i)
		}
	}
	return math.NaN()
}

// floors is what this car's engine speed does when nothing is wrong with it.
type floors struct {
	driving runningMedian // quick scatter in any driving, lately
	crawl   runningMedian // quick scatter below cruise speed, over a longer time
	usual   runningMedian // k-th swing of quiet, judged cruise
	load    runningMedian // engine load of quiet, judged cruise, %
}

// most values a floor may be offered a second.
const floorRate = 12

func newFloors(th *thresholds) floors {
	size := func(span float64) int { return int(span*floorRate) + 2 }
	return floors{
		driving: newRunningMedian(th.floorSpan, th.floorLag, size(th.floorSpan)),
		crawl:   newRunningMedian(th.floorCrawl, th.floorLag, size(th.floorCrawl)),
		load:    newRunningMedian(th.usualSpan, th.floorLag, size(th.usualSpan)),
		usual:   newRunningMedian(th.usualSpan, th.floorLag, size(th.usualSpan)),
	}
}

// toSigma turns a median of absolute values into a standard deviation (normal law: 1/0.6745).
const toSigma = 1.4826

// scatter returns the lower of the two floors of quick scatter, as a standard deviation in
// rpm; NaN while neither is learnt. A floor learnt in all driving would hide a car that
// always shudders, hence the lower of two.
func (f *floors) scatter(th *thresholds) float64 {
	a, b := f.driving.median(th.floorMin), f.crawl.median(th.floorMin)
	if math.IsNaN(a) || b < a {
		a = b
	}
	return toSigma * a
}

// forget drops what was lately learnt: an alarm began.
func (f *floors) forget() {
	f.driving.forget()
	f.crawl.forget()
	f.usual.forget()
	f.load.forget()
}

// quickScatter returns how far the reading at index i of w lies from the line between the
// readings at least side seconds before and after it, scaled so that readings with
// independent errors of one size give that size. ok is false at the window's ends.
func quickScatter(w []reading, i int, side float64) (v float64, ok bool) {
	a := i - 1
	for a >= 0 && w[a].t > w[i].t-side {
		a--
	}
	b := i + 1
	for b < len(w) && w[b].t < w[i].t+side {
		b++
	}
	if a < 0 || b == len(w) || w[b].t-w[a].t > 1.5 {
		return 0, false
	}
	share := (w[i].t - w[a].t) / (w[b].t - w[a].t)
	d := w[i].v - (1-share)*w[a].v - share*w[b].v
	return math.Abs(d) / math.Sqrt(1+share*share+(1-share)*(1-share)), true
}
