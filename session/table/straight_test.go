package table

import (
	"fmt"
	"math"
	"path"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/fixtures"
	"github.com/judder-obd/judder/pids"
)

// realDrives are the engine speeds of the drives that others recorded on real roads; see
// fixtures/PROVENANCE.md.
func realDrives(t *testing.T) map[string][]pids.Sample {
	t.Helper()
	names, err := fixtures.Files.ReadDir("drives")
	if err != nil || len(names) == 0 {
		t.Fatal(err, names)
	}
	drives := map[string][]pids.Sample{}
	for _, n := range names {
		f, err := fixtures.Files.Open(path.Join("drives", n.Name()))
		if err != nil {
			t.Fatal(err)
		}
		got, err := Import(f, n.Name(), nil)
		if err != nil || len(got.Straight) > 0 {
			t.Fatalf("%s: %v, taken for interpolated: %+v", n.Name(), err, got.Straight)
		}
		drives[n.Name()] = slices.DeleteFunc(got.Samples, func(s pids.Sample) bool { return s.Signal != pids.RPM })
	}
	return drives
}

// written is a table of engine speed, rounded to a step.
func written(read []pids.Sample, step float64) string {
	var b strings.Builder
	b.WriteString("time_s,RPM\n")
	for _, s := range read {
		fmt.Fprintf(&b, "%.3f,%.3f\n", s.At.Seconds(), math.Round(s.Value/step)*step)
	}
	return b.String()
}

// between gives readings at a fixed rate, on the straight lines between those that were read.
func between(read []pids.Sample, rate float64) (rows []pids.Sample) {
	k := 0
	for i := 0; ; i++ {
		at := time.Duration(float64(i) / rate * float64(time.Second)).Round(time.Microsecond)
		for k+1 < len(read) && read[k+1].At <= at {
			k++
		}
		if k+1 == len(read) {
			return rows
		}
		if at < read[k].At {
			continue
		}
		a, b := read[k], read[k+1]
		rows = append(rows, pids.Sample{At: at, Value: a.Value + (b.Value-a.Value)*float64(at-a.At)/float64(b.At-a.At)})
	}
}

// No real drive loses a reading, however coarsely it is written and however seldom it was read.
func TestImport_RealDrivesStayWhole(t *testing.T) {
	for name, read := range realDrives(t) {
		for _, step := range []float64{0.001, 0.25, 1, 10, 25} {
			for every := 1; every <= 8; every *= 2 {
				var some []pids.Sample
				for i := 0; i < len(read); i += every {
					some = append(some, read[i])
				}
				got, err := Import(strings.NewReader(written(some, step)), "f.csv", nil)
				if err != nil || len(got.Samples) != len(some) {
					t.Errorf("%s, each %d., in steps of %g: %v, %+v", name, every, step, err, got.Straight)
				}
			}
		}
	}
}

// A real drive that was read about once a second, interpolated and rounded: about as many readings as there
// were are kept, and no long while has none, also with the engine standing still.
func TestImport_Interpolated(t *testing.T) {
	for name, read := range realDrives(t) {
		if name == "automatic-minute.csv" {
			continue // 43 readings a second: nothing to add
		}
		for _, rate := range []float64{4, 10, 30} {
			for _, step := range []float64{0.01, 0.25, 1} {
				got, err := Import(strings.NewReader(written(between(read, rate), step)), "f.csv", nil)
				if err != nil || len(got.Straight) != 1 {
					t.Errorf("%s at %g/s in steps of %g: %v", name, rate, step, err)
					continue
				}
				s := got.Straight[0]
				share, every := float64(s.Kept)/float64(len(read)), s.Every.Seconds()
				if share < 0.7 || share > 1.05 || every < 0.8 || every > 1.2 || s.Kept != len(got.Samples) || math.Abs(s.RowEvery.Seconds()*rate-1) > 0.01 {
					t.Errorf("%s at %g/s in steps of %g: %+v of %d", name, rate, step, s, len(read))
				}
				for i := range got.Samples[1:] {
					if gap := got.Samples[i+1].At - got.Samples[i].At; gap > 8*time.Second {
						t.Errorf("%s at %g/s in steps of %g: nothing for %v after %v", name, rate, step, gap, got.Samples[i].At)
					}
				}
			}
		}
	}
}

// Where each reading is a row, just the readings are kept. The numbers are invented: a scatter without
// chance, and a shudder of 100 rpm at 3 Hz that one reading a second cannot show.
func TestImport_InterpolatedExactly(t *testing.T) {
	for _, every := range []time.Duration{200 * time.Millisecond, time.Second} {
		var read []pids.Sample
		for i := range 400 {
			at := time.Duration(i) * every
			swing := 50 * math.Sin(2*math.Pi*3*at.Seconds())
			read = append(read, pids.Sample{At: at, Signal: pids.RPM, Value: 1700 + math.Round(4*(swing+5*math.Sin(float64(7*i*i))))/4})
		}
		got, err := Import(strings.NewReader(written(between(read, 10), 0.01)), "f.csv", nil)
		if err != nil || len(got.Straight) != 1 {
			t.Fatal(err, every)
		}
		missed := 0
		for _, s := range read[:len(read)-1] {
			if !slices.Contains(got.Samples, s) {
				missed++
			}
		}
		if n := len(got.Samples); missed > n/40 || n > len(read) || math.Abs(got.Straight[0].Every.Seconds()/every.Seconds()-1) > 0.02 { // three readings in a row may lie on a line
			t.Errorf("each %v: %d kept of %d, %d missed: %+v", every, n, len(read), missed, got.Straight)
		}
	}
}
