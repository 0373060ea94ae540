package schedule

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Choosing the next request, on a schedule that has learnt all its counts.
func BenchmarkScheduleNext(b *testing.B) {
	s := New(obd.Capabilities{Bundle: true, Count: true}, supports(ordinary...))
	now := time.Duration(0)
	next := func() {
		now += 60 * time.Millisecond
		s.Answered(s.Next(now), 1)
	}
	for range 1000 {
		next()
	}
	b.ReportAllocs()
	for b.Loop() {
		next()
	}
}
