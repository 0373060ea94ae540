package detect

import (
	"bufio"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/pids"
)

// readDrive reads a real drive of lines time_s,signal,value.
func readDrive(tb testing.TB, name string) []pids.Sample {
	tb.Helper()
	f, err := fixtures.Files.Open("drives/" + name)
	if err != nil {
		tb.Fatal(err)
	}
	defer func() {
		if err := f.Close(); err != nil {
			tb.Error(err)
		}
	}()
	var out []pids.Sample
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		p := strings.Split(sc.Text(), ",")
		if len(p) != 3 || p[0] == "time_s" || strings.HasPrefix(p[0], "#") {
			continue
		}
		t, err1 := strconv.ParseFloat(p[0], 64)
		v, err2 := strconv.ParseFloat(p[2], 64)
		if err1 != nil || err2 != nil {
			tb.Fatalf("%s: %q is not time,signal,value", name, sc.Text())
		}
		out = append(out, pids.Sample{At: time.Duration(t*1e6) * time.Microsecond, ECU: "7E8", Signal: pids.Signal(p[1]), Value: v})
	}
	return out
}

func run(samples []pids.Sample) *Detector {
	d := New()
	for _, s := range samples {
		d.Push(s)
	}
	d.Finish(samples[len(samples)-1].At)
	return d
}

// The number of automatic stops is the data set's own, counted by its publisher's readers
// (Automotive OBD-II Dataset, KIT 2023; comma2k19, 2018).
func TestRealDrives(t *testing.T) {
	for _, c := range []struct {
		file  string
		stops int
		slow  bool
	}{
		{"stopstart-city-1.csv", 9, true},
		{"stopstart-city-2.csv", 10, true},
		{"stopstart-city-3.csv", 0, true},
		{"stopstart-road.csv", 0, true},
		{"automatic-minute.csv", 0, false},
	} {
		d := run(readDrive(t, c.file))
		n := 0
		for _, s := range d.Stops() {
			if s.Kind == StopAutomatic {
				n++
			}
			t.Logf("%s stop %v–%v kind %d", c.file, s.Start, s.End, s.Kind)
		}
		if n != c.stops {
			t.Errorf("%s: %d automatic stops, want %d", c.file, n, c.stops)
		}
		if len(d.Events()) != 0 {
			t.Errorf("%s: false alarm %+v", c.file, d.Events())
		}
		v := d.Verdict()
		t.Logf("%s %+v judged %v", c.file, v, d.books.ledger.judged)
		if slow := strings.Contains(v.Reason, "about once a second"); slow != c.slow {
			t.Errorf("%s: %q", c.file, v.Reason)
		}
		if v.Finding != CannotTell {
			t.Errorf("%s: finding %d", c.file, v.Finding)
		}
	}
}
