package detect

import "testing"

func TestShownShare(t *testing.T) {
	for _, c := range []struct {
		n    int
		want float64
	}{{7, 0}, {8, .36}, {15, .75}, {30, .93}, {200, .98}} {
		if got := shownShare(c.n); got != c.want {
			t.Errorf("%d readings: %v, want %v", c.n, got, c.want)
		}
	}
	for n := 8; n < 80; n++ {
		if shownShare(n+1) < shownShare(n) {
			t.Errorf("falls at %d readings", n)
		}
	}
}
