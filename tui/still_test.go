package tui

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
)

func TestIsStill(t *testing.T) {
	const now = 2 * time.Minute
	every := func(d time.Duration, value func(t float64) float64) (pts []session.Point) {
		for t := time.Duration(0); t <= now; t += d {
			pts = append(pts, session.Point{At: t, Value: value(t.Seconds())})
		}
		return pts
	}
	for _, tt := range []struct {
		name string
		pts  []session.Point
		unit string
		want bool
	}{
		{"the same all along", every(time.Second, func(float64) float64 { return 91 }), "°C", true},
		{"moves less than its number shows", every(time.Second, func(t float64) float64 { return 14.1 + 0.04*float64(int(t)%2) }), "V", true},
		{"a step", every(time.Second, func(t float64) float64 { return 14.1 + 0.2*float64(int(t)%2) }), "V", false},
		{"changed a minute and a half ago", every(time.Second, func(t float64) float64 { return map[bool]float64{true: 90, false: 91}[t < 30] }), "°C", true},
		{"changed 50 s ago", every(time.Second, func(t float64) float64 { return map[bool]float64{true: 90, false: 91}[t < 70] }), "°C", false},
		{"rarely read, changed 40 s ago", every(40*time.Second, func(t float64) float64 { return map[bool]float64{true: 90, false: 91}[t < 80] }), "°C", false},
		{"read for half a minute", every(time.Second, func(float64) float64 { return 91 })[90:], "°C", false},
		{"lost meanwhile", every(time.Second, func(t float64) float64 { return map[bool]float64{true: nan, false: 91}[t > 100] }), "°C", false},
		{"never read", nil, "°C", false},
	} {
		if got := isStill(&session.Lane{History: tt.pts, Unit: tt.unit}, now); got != tt.want {
			t.Errorf("%s: still %v, want %v", tt.name, got, tt.want)
		}
	}
}

// However few rows there are, every signal is drawn, has its number, or is counted as not shown.
func TestSignalsShareTheirRows(t *testing.T) {
	for rows := range 9 {
		m := still(t, 80, 24, &fakeDrive{now: at(11, 30)})
		l := layout{lanes: rows, plot: 40, side: narrowSide}
		over := m.pictures.share(&m.view, &l)
		p := &m.pictures
		drawn := l.lanes - len(p.still)
		if l.lanes+over != rows || drawn != len(p.moving) || p.seen > len(fakeSignals) || rows > 0 && p.seen < min(rows, 5) {
			t.Errorf("%d rows: %d drawn of %d, %d lines of numbers, %d left over, %d signals seen", rows, drawn, len(p.moving), len(p.still), over, p.seen)
		}
		if rows >= 2 && !strings.Contains(strings.Join(p.still, "\n"), "91 °C") {
			t.Errorf("%d rows: no number of the coolant in %q", rows, p.still)
		}
	}
}

// What the large word asks about is brighter than the rest.
func TestAskedAbout(t *testing.T) {
	m := still(t, 80, 24, &fakeDrive{now: at(2, 0), change: reason(detect.SpeedChanging)})
	for _, l := range m.pictures.order {
		if got, want := askedAbout(l, &m.view), l.Signal == pids.VSS; got != want {
			t.Errorf("speed changing: %s asked about %v", l.Signal, got)
		}
	}
	m = still(t, 80, 24, &fakeDrive{now: at(11, 5), change: alarm})
	for _, l := range m.pictures.order {
		if got, want := askedAbout(l, &m.view), l.Signal == pids.RPM; got != want {
			t.Errorf("shudder: %s asked about %v", l.Signal, got)
		}
	}
}

// What a drive asks for beside engine speed has an everyday word that fits its label; the page of signals
// has the acronym.
func TestEverydayWords(t *testing.T) {
	used := map[string]pids.Signal{}
	for _, s := range []pids.Signal{pids.RPM, pids.VSS, pids.TP, pids.APPD, pids.LoadPct, pids.ECT, pids.MAP, "MAF", "IAT", "AAT", pids.VPWR, pids.GearAct, pids.GearRat, session.LaneApparent} {
		name := plainName(s)
		if other, taken := used[name]; taken || name != strings.ToLower(name) || len(name) > axisWidth-2 {
			t.Errorf("%s is %q, as is %q", s, name, other)
		}
		used[name] = s
	}
}
