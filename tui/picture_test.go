package tui

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

func points(every time.Duration, values ...float64) []session.Point {
	pts := make([]session.Point, len(values))
	for i, v := range values {
		pts[i] = session.Point{At: time.Duration(i) * every, Value: v}
	}
	return pts
}

// The picture of each case is in the source, drawn by hand: the dots of each column, 1 for the lowest
// of four rows, 4 for the uppermost, a space where there is none.
func TestThin(t *testing.T) {
	const sec = time.Second
	tests := []struct {
		name string
		pts  []session.Point
		now  time.Duration
		n    int
		want string
	}{
		{"a ramp, one reading a column", points(sec, 0, 1, 2, 3), 3 * sec, 4, "1,2,3,4"},
		{"a jump is joined", points(sec, 0, 3, 3, 0), 3 * sec, 4, "1,234,4,123"},
		{"one spike within a column stays", points(100*time.Millisecond, 0, 0, 0, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0), 1200 * time.Millisecond, 2, "1234,1"},
		{"before the first reading: blank", points(sec, 3, 3), sec, 4, ",,4,4"},
		{"a gap longer than a reading holds: blank", append(points(sec/2, 3, 3, 3, 3), session.Point{At: 7 * sec, Value: 0}), 7 * sec, 8, "4,4,4,4,,,,1"},
		{"slow readings hold until the next", points(3*sec, 0, 3, 0), 8 * sec, 9, "1,1,1,234,4,4,123,1,1"},
		{"nothing after the last reading has gone stale", points(sec/2, 3, 3, 3, 3), 7 * sec, 8, "4,4,4,4,,,,"},
		{"not numbers are no readings", []session.Point{{At: 0, Value: math.NaN()}, {At: sec, Value: math.Inf(1)}, {At: 2 * sec, Value: 3}}, 2 * sec, 3, ",,4"},
		{"no readings at all", nil, 3 * sec, 4, ",,,"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			cols := columns(nil, tt.pts, axisEnding(tt.now, sec, tt.n), tt.now, holdTime(tt.pts))
			if got := dotsOf(thin(cols, 0, 3), tt.n); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// dotsOf reads a line of braille patterns: the bits are those of the Unicode standard, chapter
// "Symbols", where dots 1, 2, 3, 7 are the left column from the top and 4, 5, 6, 8 the right one.
func dotsOf(line string, n int) string {
	bits := [2]string{"\x40\x04\x02\x01", "\x80\x20\x10\x08"}
	var cols []string
	for _, r := range line {
		for _, column := range bits {
			text := ""
			for y := range len(column) {
				if r != ' ' && (r-0x2800)&rune(column[y]) != 0 {
					text += string(rune('1' + y))
				}
			}
			cols = append(cols, text)
		}
	}
	return strings.Join(cols[:n], ",")
}

// A column must never show a slow wave that is not there: 3.3 Hz read 20 times a second,
// 50 s in 80 columns, keeps its swing in every column. 80 rpm is the swing made here; every
// column of 0.625 s holds two periods, so at least nine tenths of it must show.
func TestColumnsKeepTheSwing(t *testing.T) {
	const swing, keeps = 80.0, 0.9
	var pts []session.Point
	for i := range 1000 {
		at := time.Duration(i) * 50 * time.Millisecond
		pts = append(pts, session.Point{At: at, Value: 1700 + swing/2*math.Sin(2*math.Pi*3.3*at.Seconds())})
	}
	now := pts[len(pts)-1].At
	cols := columns(nil, pts, axisEnding(now, 625*time.Millisecond, 80), now, time.Second)
	for i, c := range cols {
		if got := c.hi - c.lo; got < keeps*swing {
			t.Errorf("column %d shows %.0f rpm of %.0f", i, got, swing)
		}
	}
}

func TestColumnsStandStill(t *testing.T) {
	pts := points(70*time.Millisecond, make([]float64, 200)...)
	for i := range pts {
		pts[i].Value = math.Sin(float64(i))
	}
	const per, n = 500 * time.Millisecond, 20
	a := columns(nil, pts, axisEnding(12100*time.Millisecond, per, n), 14*time.Second, time.Second)
	b := columns(nil, pts, axisEnding(12499*time.Millisecond, per, n), 14*time.Second, time.Second)
	c := columns(nil, pts, axisEnding(12500*time.Millisecond, per, n), 14*time.Second, time.Second)
	for i := range n {
		if a[i].hi != b[i].hi {
			t.Errorf("column %d changed within its own time", i)
		}
		if i > 0 && a[i].hi != c[i-1].hi {
			t.Errorf("column %d did not move by one whole column", i)
		}
	}
}

func TestScale(t *testing.T) {
	var s scale
	steps := []struct {
		sec            float64
		lo, hi         float64
		wantLo, wantHi float64
	}{ // four parts; steps of 25 for 100 rpm; for 160 rpm 40 from 1680 would end at 1840, so 50
		{0, 1740, 1750, 1700, 1800},
		{1, 1705, 1795, 1700, 1800},
		{2, math.NaN(), math.NaN(), 1700, 1800}, // nothing known: does not move
		{3, 1690, 1850, 1650, 1850},             // widens at once
		{4, 1740, 1750, 1650, 1850},             // does not narrow at once
		{9.9, 1740, 1750, 1650, 1850},
		{10, 1740, 1750, 1700, 1800}, // narrows after six seconds of it
		{5, 800, 810, 775, 875},      // time went back: a seek, starts again
	}
	for _, st := range steps {
		s.follow(st.lo, st.hi, 100, 4, time.Duration(st.sec*float64(time.Second)))
		if s.lo != st.wantLo || s.hi != st.wantHi {
			t.Errorf("at %v s: %v to %v, want %v to %v", st.sec, s.lo, s.hi, st.wantLo, st.wantHi)
		}
	}
}

func TestSteppedHoldsData(t *testing.T) {
	for _, parts := range []int{1, 2, 3, 4, 7, 14, 25} {
		for _, d := range [][2]float64{{0, 0}, {0, 1}, {-5, 3}, {1672, 1830}, {0, 16383.75}, {1e9, 1e12}, {-1e300, 1e300}, {0.001, 0.0011}} {
			lo, hi := stepped(d[0], d[1], 1, parts)
			if !(hi > lo) || lo > max(d[0], -1e9) && lo > -1e9 || hi < min(d[1], 1e9) {
				t.Errorf("%d parts, data %v to %v: axis %v to %v", parts, d[0], d[1], lo, hi)
			}
		}
	}
}

func TestChart(t *testing.T) {
	col := func(lo, hi float64) column { return column{lo, hi, hi} }
	gap := emptyColumn
	tests := []struct {
		name string
		cols []column
		want string
	}{
		{"two lines where a column has a swing, one where it has none, a gap where it has nothing",
			[]column{col(10, 10), col(10, 10), col(0, 20), col(0, 20), col(10, 10), gap, gap, col(10, 10), col(10, 10)}, `
      20┤ ╭─╮
      10┼─╯ ╰╴ ╶─
       0┤ ╰─╯`},
		{"what passes the axis is not drawn", []column{col(-500, 900), col(-500, 5), col(-500, 5)}, `
      20┤
      10┤╶─
       0┤`},
		{"nothing but gaps", []column{gap, gap, gap}, `
      20┤
      10┤
       0┤`},
		{"not even a column", nil, `
      20┤
      10┤
       0┤`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := "\n" + strings.Join(drawChart(tt.cols, 0, 20, 3), "\n")
			want := strings.ReplaceAll(tt.want, "\n", "\n ")
			if got != want {
				t.Errorf("got:%s\nwant:%s", got, want)
			}
		})
	}
}

// The chart's lines and labels must not move when its data does.
func TestChartShapeIsFixed(t *testing.T) {
	for rows := 2; rows < 20; rows++ {
		for _, lo := range []float64{0, 600, 1690, 1733, 12345} {
			cols := make([]column, 41)
			for i := range cols {
				v := lo + float64(i*7%90)
				cols[i] = column{v, v + 3, v}
			}
			lines := drawChart(cols, lo, lo+90, rows)
			if len(lines) != rows {
				t.Fatalf("rows %d, from %v: %d lines", rows, lo, len(lines))
			}
			for _, l := range lines {
				label, line := cutCells(l, axisWidth)
				if prose.Cells(label) != axisWidth || !strings.ContainsAny(label, "┤┼") || prose.Cells(line) > 40 {
					t.Fatalf("rows %d, from %v: line %q", rows, lo, l)
				}
			}
		}
	}
}

func FuzzChart(f *testing.F) {
	f.Add(1700.0, 1800.0, 1750.0, 5, 40)
	f.Add(math.NaN(), math.Inf(1), math.Inf(-1), 0, 0)
	f.Add(0.0, math.MaxFloat64, -math.MaxFloat64, 1, 1)
	f.Add(0.0, 5e-324, 1.0, 3, 2)
	f.Fuzz(func(t *testing.T, lo, hi, v float64, rows, n int) {
		rows, n = rows&31, n&127
		cols := make([]column, n)
		for i := range cols {
			x := v * float64(i%5-2)
			cols[i] = column{min(x, v), max(x, v), v}
			if i%7 == 3 {
				cols[i] = emptyColumn
			}
		}
		lines := drawChart(cols, lo, hi, rows)
		if len(lines) != max(rows, 2) {
			t.Fatalf("%d lines for %d rows", len(lines), rows)
		}
		for _, l := range lines {
			if prose.Cells(l) > axisWidth+max(n, 1) {
				t.Fatalf("%d cells for %d columns: %q", prose.Cells(l), n, l)
			}
		}
		var s scale
		s.follow(lo, hi, math.Abs(v), rows, 0)
		if s.settled && !(s.hi > s.lo) {
			t.Fatalf("axis %v to %v for data %v to %v", s.lo, s.hi, lo, hi)
		}
	})
}

func TestStrip(t *testing.T) {
	f := &fakeDrive{}
	var s session.Snapshot
	f.fillCourse(&s, fakeLength)
	// Felt while the throttle moved, while the engine stood, and just after a shudder; a
	// glyph says what the list says.
	s.Marks = append(s.Marks, session.Mark{At: at(6, 10), Outcome: session.NotJudged}, session.Mark{At: at(9, 50), Outcome: session.NotJudged}, session.Mark{At: burstEnd + 2*time.Second, Outcome: session.Seen})
	axis := timeAxis{first: 0, per: 30 * time.Second, n: 30}
	got := string(drawStrip(axis, course{s.Spans, s.Events, s.Stops, s.Observations, s.Marks, nil}))
	// Half a minute a glyph: settling in to 5:30, throttle moving to 7:00, usable
	// to 9:00 with a note at 7:30, a slow swing at 8:00 and a felt mark at 8:30, stop at 9:40,
	// gap and settling about 10:50, shudder felt at 11:02.
	const want = "············?·━n~!·?o╍◆━━━━━━━"
	if strings.TrimRight(got, " ") != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestStripShades(t *testing.T) {
	for _, tt := range []struct {
		usable, seen float64 // of a cell of one second
		want         rune
	}{{0, 0, glyphNoData}, {0, 1, glyphUnusable}, {0.2, 1, '┄'}, {0.6, 1, '╍'}, {0.95, 1, '━'}, {0.3, 0.3, '┄'}} {
		sec := func(x float64) time.Duration { return time.Duration(x * float64(time.Second)) }
		if got := shadeGlyph(sec(tt.usable), sec(tt.seen), time.Second); got != tt.want {
			t.Errorf("usable %v s, seen %v s of 1 s: %q, want %q", tt.usable, tt.seen, got, tt.want)
		}
	}
}

func TestLayoutFillsTheWindow(t *testing.T) {
	for w := smallBelow; w < 200; w += 7 {
		for h := smallRows; h < 80; h++ {
			for _, replay := range []bool{false, true} {
				for _, lanes := range []int{0, 3, 6, 20} {
					l := arrange(w, h, lanes, replay)
					rows := fixedRows + l.wave + l.chart + l.lanes + l.events
					if replay {
						rows++
					}
					if l.footRule {
						rows++
					}
					if rows != h || l.wave < waveLeast || l.chart != 0 && l.chart < chartLeast || l.lanes < 0 || l.events < 2 || l.plot < 20 {
						t.Fatalf("%d×%d, %d lanes, replay %v: %+v makes %d rows", w, h, lanes, replay, l, rows)
					}
				}
			}
		}
	}
}
