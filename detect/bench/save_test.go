package bench

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// What is saved is read back by the standard library's reader, value for value.
func TestSavedDriveReadsBack(t *testing.T) {
	d := short(7, LoadMisfire, 60).Read(Asking{Name: "10", Rate: 10})
	path, err := d.Save(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(f).ReadAll()
	if e := f.Close(); err != nil || e != nil {
		t.Fatal(err, e)
	}
	if len(lines) != len(d.Samples)+1 {
		t.Fatalf("%d lines for %d samples", len(lines), len(d.Samples))
	}
	for i, s := range d.Samples {
		at, err := strconv.ParseFloat(lines[i+1][0], 64)
		if err != nil {
			t.Fatal(err)
		}
		v, err := strconv.ParseFloat(lines[i+1][2], 64)
		if err != nil {
			t.Fatal(err)
		}
		if d := at - s.At.Seconds(); d > 1e-6 || d < -1e-6 || lines[i+1][1] != string(s.Signal) || v != s.Value {
			t.Fatalf("line %d: %v for %+v", i+1, lines[i+1], s)
		}
	}
}

func TestSaveIntoAFile(t *testing.T) {
	if _, err := short(7, Healthy, 10).Read(Askings[0]).Save("save_test.go"); err == nil {
		t.Error("saved into a file as if it were a folder")
	}
}

// short is a drive of the formula world of a length, s.
func short(seed uint64, script Kind, length float64) *formula {
	s := Scene{World: WorldFormula, Name: string(script), Seed: seed}
	return &formula{s, lay(s, length)}
}
