package detect

import "time"

// Band is a band of road speed with how long it was judged and the smallest swing, rpm peak
// to peak, that would have been seen there on average; 0 when nothing was judged.
type Band struct {
	FromKMH, ToKMH float64
	Judged         time.Duration
	SmallestRPM    float64
}

// The bands of the coverage table.
const (
	bandLow   = 30
	bandWidth = 10
	bandCount = 9 // to 120 km/h
)

// coverage sums judged time by band.
type coverage [bandCount]struct{ seconds, smallest float64 }

func (c *coverage) add(speed, dt, smallest float64) {
	if speed < bandLow || speed >= bandLow+bandWidth*bandCount {
		return
	}
	i := int((speed - bandLow) / bandWidth)
	c[i].seconds += dt
	c[i].smallest += dt * smallest
}

// Coverage returns the bands of road speed, slowest first.
func (d *Detector) Coverage() []Band {
	out := make([]Band, bandCount)
	for i, c := range d.books.cover {
		out[i] = Band{FromKMH: bandLow + bandWidth*float64(i), ToKMH: bandLow + bandWidth*float64(i+1), Judged: seconds(c.seconds)}
		if c.seconds > 0 {
			out[i].SmallestRPM = c.smallest / c.seconds
		}
	}
	return out
}
