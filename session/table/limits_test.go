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
	samples, _, err := Import(strings.NewReader(head+"1000000,RPM,1\n"), "f.csv")
	if err != nil || len(samples) != 1 || samples[0].At != 1e6*time.Second {
		t.Errorf("the latest time: %v, %v", samples, err)
	}
	if _, _, err := Import(strings.NewReader(head+"1000000.1,RPM,1\n"), "f.csv"); !errors.Is(err, ErrTime) {
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
	if _, _, err := Import(strings.NewReader(""), "f.csv"); err == nil || strings.Contains(err.Error(), "line 0") {
		t.Errorf("a file as a whole: %v", err)
	}
	// Ten columns that are passed over are named, and no more.
	for n, named := range map[int]int{10: 10, 11: 10} {
		columns := strings.Repeat(",other", n)
		_, notes, err := Import(strings.NewReader("time_s,signal,value"+columns+"\n0,RPM,1"+strings.Repeat(",", n)+"\n"), "f.csv")
		if err != nil || len(notes) != 1 || strings.Count(notes[0], "other") != named {
			t.Errorf("%d columns: %q, %v", n, notes, err)
		}
	}
}
