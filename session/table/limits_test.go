package table

import (
	"errors"
	"strings"
	"testing"
	"time"
)

// What just fits a limit is taken, and one more is not.
func TestLimits(t *testing.T) {
	const head = "time_s,signal,value\n"
	samples, _, err := take(head + "1000000,RPM,1\n")
	if err != nil || len(samples) != 1 || samples[0].At != 1e6*time.Second {
		t.Errorf("the latest time: %v, %v", samples, err)
	}
	if _, _, err := take(head + "1000000.1,RPM,1\n"); !errors.Is(err, ErrTime) {
		t.Errorf("a later one: %v", err)
	}
	for n, cut := range map[int]bool{39: false, 40: false, 41: true} {
		if got := shorten(strings.Repeat("ä", n)); strings.HasSuffix(got, "…") != cut || len([]rune(got)) != min(n, 41) {
			t.Errorf("%d characters become %q", n, got)
		}
	}
	for v, want := range map[float64]string{1e-6: "0.000001", 9e-7: "9e-07", 9e14: "900000000000000", 1e15: "1e+15", -1e15: "-1e+15", 0: "0"} {
		if got := string(appendValue(nil, v)); got != want {
			t.Errorf("%v is written %s, want %s", v, got, want)
		}
	}
	if _, _, err := take(""); err == nil || strings.Contains(err.Error(), "line 0") {
		t.Errorf("a file as a whole: %v", err)
	}
}
