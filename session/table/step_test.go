package table

import (
	"math"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids"
)

// What SAE J1979 gives in steps is written without the digits that only the division made:
// A·100/255 and (256·A+B)/4 and u16·2/65536 and u16/1000.
func TestExport_Tidy(t *testing.T) {
	for _, c := range []struct {
		signal pids.Signal
		value  float64
		want   string
	}{
		{pids.TP, 41 * 100. / 255, "16.08"}, {pids.RPM, 6857. / 4, "1714.25"}, {"GEAR_RAT", 2371. / 1000, "2.371"},
		{pids.VSS, 67, "67"}, {"LAMBDA", 32772 * 2. / 65536, "1.000122"}, {"OWN", 16.07843137254902, "16.07843137254902"},
	} {
		var out strings.Builder
		if err := export(&out, []pids.Sample{{Signal: c.signal, Value: Tidy(c.value, Step(c.signal))}}); err != nil {
			t.Fatal(err)
		}
		row := strings.Split(strings.Split(out.String(), "\n")[1], ",")
		if row[3] != c.want && (c.signal != "LAMBDA" || Step(c.signal) > 0) {
			t.Errorf("%s %v is written as %s, want %s", c.signal, c.value, row[3], c.want)
		}
	}
}

// Rounding never takes a code for its neighbour, and touches nothing whose step is not known.
func TestTidyKeepsCodesApart(t *testing.T) {
	for _, step := range []float64{100. / 255, 0.25, 2. / 65536, 0.001, 1, 20, 3e-5} {
		last := math.Inf(-1)
		for code := range 300 {
			v := Tidy(float64(code)*step, step)
			if v <= last || math.Abs(v-float64(code)*step) > step/10 {
				t.Fatalf("code %d of steps of %v becomes %v after %v", code, step, v, last)
			}
			last = v
		}
	}
	for _, v := range []float64{math.Inf(1), 1e300, 0.1} {
		if got := Tidy(v, 0); got != v {
			t.Errorf("%v became %v", v, got)
		}
		if got := Tidy(v, 0.25); !(math.Abs(got-v) <= 0.025) && !math.IsInf(v, 0) {
			t.Errorf("%v became %v", v, got)
		}
	}
}

// A step of a power of ten keeps one digit more, of ten whole numbers, and beyond nine digits or a
// step of a hundred nothing is rounded.
func TestTidyDigits(t *testing.T) {
	for _, c := range []struct{ v, step, want float64 }{
		{0.123441, 0.001, 0.1234}, {12.3, 10, 12}, {123.4, 100, 123.4}, {1.2345e-7, 1e-8, 1.23e-7}, {1.23456e-8, 1e-9, 1.23456e-8},
		{-0.123441, 0.001, -0.1234}, {12.34, -1, 12.34}, {12.34, math.Inf(1), 12.34},
	} {
		if got := Tidy(c.v, c.step); math.Abs(got-c.want) > 1e-15 {
			t.Errorf("%v in steps of %v becomes %v, want %v", c.v, c.step, got, c.want)
		}
	}
}
