package bench

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/pids"
)

func TestLogTellsTheLine(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"time_s,signal,value\n1,RPM\n", "line 2"},
		{"x,RPM,1\n", "line 1: time"},
		{"1,RPM,y\n", "line 1: value"},
	} {
		if _, err := Log(strings.NewReader(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want %q", c.text, err, c.want)
		}
	}
	if got, err := Log(strings.NewReader("# source\ntime_s,signal,value\n0.5,RPM,800\n")); err != nil || len(got) != 1 || got[0].Value != 800 {
		t.Errorf("%v, %v", got, err)
	}
}

// Known swings added to a real minute of an automatic car (comma2k19, 2018, MIT License),
// played over. Read 10 times a second and more, nine in ten sines of 80 rpm and two in three
// saws of 120 rpm must be found, and nothing where nothing was added.
func TestAddedSwings(t *testing.T) {
	f, err := fixtures.Files.Open("drives/automatic-minute.csv")
	if err != nil {
		t.Fatal(err)
	}
	log, err := Log(f)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	log = Repeat(log, 4)
	from, to := steady(log)
	t.Logf("judged stretch %.1f–%.1f s", from, to)
	list := []float64{5, 10, 20}
	if testing.Short() {
		list = list[1:2]
	}
	for _, rate := range list {
		for _, size := range []float64{0, 50, 80, 120} {
			sine, saw := added(log, from, to, rate, size, false), added(log, from, to, rate, size, true)
			t.Logf("%2.0f/s %3.0f rpm: sines %v, saws %v", rate, size, sine, saw)
			quiet := size == 0 && sine.Hit+saw.Hit > 0
			deaf := rate >= 10 && (size >= 80 && sine.Hit < sine.Of*9/10 || size >= 120 && saw.Hit < saw.Of*2/3)
			if quiet || deaf {
				t.Errorf("%v/s, %v rpm: sines found %v, saws %v", rate, size, sine, saw)
			}
		}
	}
}

// added counts in how many plays of the log a swing added between two times is found.
func added(log []pids.Sample, from, to, rate, size float64, saw bool) (c Count) {
	for _, hz := range []float64{1.2, 1.9, 2.7, 3.6, 4.5, 5.5} {
		for seed := range uint64(2) {
			at := from + 2.5 + 0.3*float64(seed) // by then few readings fill a window too
			d := detect.New()
			samples := Thin(Swings(log, at, min(to, at+4), hz, size, saw), rate, seed)
			for _, s := range samples {
				d.Push(s)
			}
			d.Finish(samples[len(samples)-1].At)
			c.Of++
			if len(d.Events()) > 0 {
				c.Hit++
			}
		}
	}
	return c
}

// steady returns the longest judged stretch of the last quarter of a log.
func steady(log []pids.Sample) (from, to float64) {
	d := detect.New()
	for _, s := range log {
		d.Push(s)
	}
	end := log[len(log)-1].At
	d.Finish(end)
	best := 0.0
	for _, s := range d.Spans() {
		if l := (s.End - s.Start).Seconds(); s.Reason == detect.Judged && l > best {
			best, from, to = l, s.Start.Seconds(), s.End.Seconds()
		}
	}
	return math.Max(0, from), to
}

// The bounds' own definition: at the lower one, as many hits or more have a chance of 2.5 %;
// at the upper one, as many or fewer (Clopper and Pearson 1934; tails from gonum). The closed
// forms 0.025^(1/n) and 1 − 0.025^(1/n) hold for all and none.
func TestInterval(t *testing.T) {
	for _, c := range []Count{{10, 36}, {1, 9}, {95, 100}, {3, 4}} {
		low, high := Interval(c.Hit, c.Of)
		above := 1 - distuv.Binomial{N: float64(c.Of), P: low}.CDF(float64(c.Hit)-1)
		below := distuv.Binomial{N: float64(c.Of), P: high}.CDF(float64(c.Hit))
		if math.Abs(above-0.025) > 1e-6 || math.Abs(below-0.025) > 1e-6 {
			t.Errorf("%v: tails %v and %v, want 0.025", c, above, below)
		}
	}
	if low, high := Interval(36, 36); math.Abs(low-math.Pow(.025, 1./36)) > 1e-9 || high != 1 {
		t.Errorf("36 of 36: %v–%v", low, high)
	}
	if low, high := Interval(0, 20); low != 0 || math.Abs(high-(1-math.Pow(.025, 1./20))) > 1e-9 {
		t.Errorf("0 of 20: %v–%v", low, high)
	}
}
