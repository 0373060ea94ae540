package detect

import (
	"math"
	"testing"
)

// The zig-zag of the ratio, by hand: a change counts from its size on, once for each side, and grows while
// it goes on the same way; less than its size is rounding of road speed. Values are multiples of 1/64,
// which are exact.
func TestStepWatch(t *testing.T) {
	const size = 0.25
	for _, c := range []struct {
		name  string
		x     []float64
		turns []float64 // sizes, the newest first
	}{
		{"just enough up", []float64{3, 3.25}, []float64{0.25}},
		{"just enough down", []float64{3, 2.75}, []float64{0.25}},
		{"not enough", []float64{3, 3.125, 2.9375, 3.125, 2.9375}, nil},
		{"slowly is a change, too", []float64{3, 3.125, 3.25, 3.375}, []float64{0.375}},
		{"down from the highest", []float64{3, 3.125, 2.875}, []float64{0.25}},
		{"up from the lowest", []float64{3, 2.875, 3.125}, []float64{0.25}},
		{"goes on up", []float64{3, 3.25, 3.5}, []float64{0.5}},
		{"goes on down", []float64{3, 2.75, 2.5}, []float64{0.5}},
		{"does not shrink", []float64{3, 3.5, 3.375}, []float64{0.5}},
		{"does not shrink down", []float64{3, 2.5, 2.625}, []float64{0.5}},
		{"up and down", []float64{3, 3.5, 3.25}, []float64{0.25, 0.5}},
		{"down and up", []float64{3, 2.5, 2.75}, []float64{0.25, 0.5}},
		{"down from where it grew to", []float64{3, 3.25, 3.5, 3.25}, []float64{0.25, 0.5}},
		{"grows after a turn", []float64{3, 3.5, 3.25, 3}, []float64{0.5, 0.5}},
		{"a car that starts from zero", []float64{0, 0.25, 0}, []float64{0.25, 0.25}},
		{"eight are kept", []float64{0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0.5}, []float64{0.5, 1, 1, 1, 1, 1, 1, 1}},
	} {
		var s stepWatch
		seen := 0
		for i, x := range c.x {
			if s.add(10+float64(i), x, size) {
				seen++
				if s.turns[0].t != 10+float64(i) {
					t.Errorf("%s: a change at %v s, seen at %d", c.name, s.turns[0].t, 10+i)
				}
			}
		}
		if s.n != len(c.turns) || seen < s.n {
			t.Errorf("%s: %d changes, %d seen, want %d", c.name, s.n, seen, len(c.turns))
			continue
		}
		for i, want := range c.turns {
			if s.turns[i].size != want {
				t.Errorf("%s: change %d of %v, want %v", c.name, i, s.turns[i].size, want)
			}
		}
	}
}

// Steps repeat when enough of them follow each other, not too fast and not too slowly: 20 s apart are near
// enough, and 1.75 s on average are slow enough.
func TestRepeated(t *testing.T) {
	for _, c := range []struct {
		every float64
		n     int
		ok    bool
	}{{4, 5, true}, {4, 4, false}, {1, 5, false}, {25, 5, false}, {20, 5, true}, {20.125, 5, false}, {1.75, 5, true}, {1.625, 5, false}} {
		var s stepWatch
		for i := range c.n {
			s.turn(10+c.every*float64(i), 0.1+0.01*float64(i))
		}
		from, size, ok := s.repeated(5, 1.75, 20)
		if ok != c.ok {
			t.Errorf("%d steps, one in %v s: %v", c.n, c.every, ok)
		}
		if ok && (from != 10 || !(math.Abs(size-0.12) <= 1e-9)) {
			t.Errorf("from %v s, size %v", from, size)
		}
	}
}
