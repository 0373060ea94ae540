package wave

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

const ms = time.Millisecond

// drive makes readings, so many a second, from 0 to length.
func drive(rate float64, length time.Duration, rpm func(s float64) float64) (rs []Reading) {
	every := time.Duration(float64(time.Second) / rate)
	for at := time.Duration(0); at <= length; at += every {
		rs = append(rs, Reading{at, rpm(at.Seconds())})
	}
	return rs
}

// burst is a swing of 100 rpm peak to peak at hz between from and to.
func burst(hz, from, to float64) func(float64) float64 {
	return func(s float64) float64 {
		v := 1700 + 3*s
		if s >= from && s <= to {
			v += 50 * math.Sin(2*math.Pi*hz*(s-from))
		}
		return v
	}
}

func text(rows []Row) string {
	var b strings.Builder
	for _, r := range rows {
		b.WriteString("\n" + strings.TrimRight(r.Text, " "))
	}
	return b.String()
}

func cutOf(rate, hz float64, rpm func(float64) float64) Cut {
	return Cut{To: 8 * time.Second, RPM: drive(rate, 8*time.Second, rpm), AlarmRPM: 60, Hz: hz, Start: 2 * time.Second, End: 6 * time.Second}
}

// The pictures are checked against the pictures themselves: each was looked at, and stands here.
func TestDots(t *testing.T) {
	lift := func(s float64) float64 { return 380 * max(0, min((s-5.05)/0.3, 1)) }
	tests := []struct {
		name string
		cut  Cut
		want string
	}{
		{"eight cycles of 100 rpm in a quiet cruise", cutOf(50, 2, burst(2, 2, 6)), `
               ⢀⡀  ⣠   ⣤  ⢀⢄  ⢠⡄  ⡰⡀  ⣦  ⢀⢦
⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⡎⢳ ⠂⡗⡇⠂⢸⠈⡆⠐⢸⢺⠐ ⡇⢸ ⠂⡗⢇⠂⢸ ⡇⠐⢸⠘⡄ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐
⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠇⢸ ⢸ ⢸ ⡸ ⡇ ⡇ ⡇⢀⠇⠸⡀⢸ ⢸ ⡸ ⢇ ⡇ ⢇⢀⠖⠒⠒⠒⠒⠒⠒⠒⠒⠒⠲⠤⠤⠤⠤
⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠈⡆⡎⠠⠘⡄⡧ ⢼⢰⠁⠄⢱⢸⠄⠠⡇⡎⠠⠈⡆⡧ ⢼⢰⠁⠄⢸⢸⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠
                 ⠣⠃  ⠻  ⠈⠞  ⠘⠃  ⠑⠃  ⠛   ⠛  ⠈⠁`},
		{"four readings a cycle: single points", cutOf(8, 2, burst(2, 2, 6)), `
               ⢀   ⠠   ⠄   ⠄  ⠠   ⠠   ⠄   ⠄
⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐
⠤⠠⠠⠠⠠⠠⠠⠠⠄⠄⠄⠄⠄⠄⠄⠄⢀ ⠠ ⠠ ⠠ ⠄ ⠄ ⠄ ⠄⠠ ⠠ ⠐ ⠠ ⠂ ⠄ ⠁ ⠤⠐⠠⠠⠐⠐⠐⠐⠂⠂⠂⠂⠂⠂⠂
⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠
                 ⠐   ⠐   ⠂   ⠂  ⠐   ⠐   ⠂   ⠁`},
		{"engine speed steps up and ends it: the wave before the step is not bent",
			cutOf(50, 2, func(s float64) float64 { return burst(2, 2, 5)(s) + lift(s) }), `
               ⢀⡀  ⣠   ⣤  ⢀⡄  ⢠⡄  ⣴   ⣿
⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⡎⢳ ⠂⡗⡇⠂⢸⠈⡆⠐⢸⢺⠐ ⡇⢱ ⢀⠗⡇⠂⢰⢹⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐ ⠂⠐
⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠶⠇⢸ ⢸ ⢸ ⡸ ⡇ ⡇ ⡇⢀⠇⢸ ⢸ ⢸ ⡜⢸ ⡤⠤⠤⠤⠤⠤⠤⠤⠤⠤⠴⠤⠤⠤⠤⠶⠒⠒⠒⠒
⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠈⡆⡎⠠⠘⡄⡧ ⢼⢰⠁⠄⢣⢸⠄⠠⡇⡇⠠⠘⣄⠧⢸⢠⠃ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠ ⠄⠠
                 ⠣⠃  ⠻  ⠈⠞  ⠘⠃  ⠑⠁  ⠛ ⢸⣸`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var tr Trace
			tr.Follow(&tt.cut)
			got := text(tr.Dots(Scale{tt.cut.From, tt.cut.To, 60}, tt.cut.AlarmRPM, 60, 5))
			if got != tt.want {
				t.Errorf("got:%s\nwant:%s", got, tt.want)
			}
		})
	}
}

// The trend of a swing that steps are near must leave the swing: 100 rpm peak to peak made here.
func TestStepLeavesTheSwing(t *testing.T) {
	c := cutOf(50, 2, func(s float64) float64 { return burst(2, 2, 5)(s) + 380*max(0, min((s-5.05)/0.3, 1)) })
	var tr Trace
	tr.Follow(&c)
	if len(tr.Steps) != 1 || math.Abs(tr.Steps[0].RPM-380) > 40 || tr.Steps[0].At < 5*time.Second || tr.Steps[0].At > 5500*ms {
		t.Errorf("steps %+v, one of 380 rpm at 5.2 s was made", tr.Steps)
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range tr.Points {
		if p.At > 2500*ms && p.At < 4500*ms {
			lo, hi = min(lo, p.RPM), max(hi, p.RPM)
		}
	}
	if hi-lo < 90 || hi-lo > 115 {
		t.Errorf("the wave before the step is %.0f rpm, 100 were made", hi-lo)
	}
}

// Eight readings a cycle make a line, fewer do not; a car that repeats its values is judged by what
// is new.
func TestLine(t *testing.T) {
	for _, tt := range []struct {
		rate, hz float64
		want     bool
	}{{50, 2, true}, {17, 2, true}, {15, 2, false}, {21, 3, false}, {25, 3, true}, {17, 0, true}, {15, 0, false}} {
		c := cutOf(tt.rate, tt.hz, burst(2, 0, 8))
		var tr Trace
		if tr.Follow(&c); tr.Line() != tt.want {
			t.Errorf("%v readings/s at %v Hz: %.1f a cycle, line %v", tt.rate, tt.hz, tr.PerCycle, tr.Line())
		}
	}
	c := cutOf(20, 2, burst(2, 0, 8))
	for i := range c.RPM {
		c.RPM[i].Value = c.RPM[i/2*2].Value
	}
	var tr Trace
	if tr.Follow(&c); tr.Line() || tr.PerCycle > 6 {
		t.Errorf("ten new values a second read twenty times: %.1f a cycle", tr.PerCycle)
	}
}

// A gap in the readings is a gap in the picture, and nothing that is not a number is drawn.
func TestGaps(t *testing.T) {
	c := cutOf(50, 2, burst(2, 0, 8))
	kept := c.RPM[:0]
	for _, r := range c.RPM {
		if r.At < 3*time.Second || r.At > 5*time.Second {
			kept = append(kept, r)
		}
	}
	c.RPM = append(kept, Reading{8 * time.Second, math.NaN()})
	var tr Trace
	tr.Follow(&c)
	firsts := 0
	for _, p := range tr.Points {
		if p.First {
			firsts++
		}
		if p.At >= 3*time.Second && p.At <= 5*time.Second || math.IsNaN(p.RPM) {
			t.Errorf("point %+v", p)
		}
	}
	if firsts != 2 {
		t.Errorf("%d pieces, two were made", firsts)
	}
	tr.Follow(&Cut{To: time.Second})
	if len(tr.Points) != 0 || tr.Line() || slices.Contains(tr.Dots(Scale{0, time.Second, 60}, 60, 4, 1)[0].Wave, true) {
		t.Error("a cut without readings has a wave")
	}
}

// Throttle and speed are one row of dots; a reading holds no longer than hold.
func TestThin(t *testing.T) {
	rs := []Reading{{0, 10}, {1 * time.Second, 10}, {2 * time.Second, 20}, {6 * time.Second, 0}}
	if got, want := Thin(rs, Scale{To: 8 * time.Second}, 0, 20, 1500*ms, 16), "⠤⠤⠤⠤⠋⠉⠉     ⣀⣀⣀ "; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func FuzzTrace(f *testing.F) {
	f.Add(int64(0), int64(8e9), 60.0, 2.0, 1700.0, 50.0)
	f.Add(int64(5), int64(-5), math.NaN(), math.Inf(1), 0.0, -1e300)
	f.Fuzz(func(t *testing.T, from, to int64, alarm, hz, v, swing float64) {
		c := Cut{From: time.Duration(from), To: time.Duration(to), AlarmRPM: alarm, Hz: hz, RPM: drive(30, 9*time.Second, func(s float64) float64 { return v + swing*math.Sin(9*s) })}
		var tr Trace
		tr.Follow(&c)
		rows := tr.Dots(Scale{c.From, c.To, RoundReach(tr.Reach, alarm)}, alarm, 20, 5)
		for _, r := range rows {
			if n := len([]rune(r.Text)); n != 20 || len(r.Wave) != 20 {
				t.Fatalf("row of %d cells", n)
			}
		}
	})
}
