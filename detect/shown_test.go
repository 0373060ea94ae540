package detect

import (
	"math"
	"testing"
)

// Between two rows of the table the share is on the straight line through them (by hand).
func TestShownShare(t *testing.T) {
	for _, c := range []struct {
		n    int
		want float64
	}{{7, 0}, {8, .36}, {11, .57}, {12, .59}, {14, .59 + .16*2/3}, {15, .75}, {25, .895}, {30, .93}, {60, .98}, {200, .98}} {
		if got := shownShare(c.n); !(math.Abs(got-c.want) <= 1e-12) {
			t.Errorf("%d readings: %v, want %v", c.n, got, c.want)
		}
	}
	for n := 8; n < 80; n++ {
		if shownShare(n+1) < shownShare(n) {
			t.Errorf("falls at %d readings", n)
		}
	}
}
