package monitor

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// libraryUnits are the library's names of units where ours differ.
var libraryUnits = map[string]string{
	"mOhm": "mΩ", "Ohm": "Ω", "kOhm": "kΩ", "deg. C": "°C", "deg.": "°", "KHz": "kHz", "counts": "count",
}

// moreOfUnit are ids to whose unit we add what is measured.
var moreOfUnit = map[byte]string{
	0x17: "kPa gauge", 0x18: "kPa air", 0x19: "kPa fuel", 0x1A: "kPa gauge", 0x1B: "kPa diesel",
	0x1E: "lambda", 0x1F: "A/F ratio", 0x20: "ratio", 0x33: "lambda",
}

// noScaling are ids that are no quantity.
var noScaling = map[byte]string{0x2E: "false or true"}

// What the library may differ in: by its own rounding, and by the figures of its table.
const (
	rounding    = 1e-9
	printedStep = 6e-4 // 0.0000305 for 1/32768
)

// roundedUnits are scales that the library has as printed figures: 0.0000305 for 1/32768,
// and 0.0039062 for 1/256.
var roundedUnits = map[byte]float64{0x05: printedStep, 0x1E: printedStep, 0x32: printedStep, 0x85: printedStep, 0x20: 2e-5}

// TestReference_Units: each unit-and-scaling id of service 06 that the library knows, as
// value and as both limits of a record. Our table was made after the library's, so this
// finds slips of the hand and of sign, and no common error.
func TestReference_Units(t *testing.T) {
	f, err := os.Open("testdata/reference/units.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // only read
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	ids := map[byte]bool{}
	for _, rec := range records {
		id, raw := unhex(t, rec[0])[0], unhex(t, rec[2])
		want, err := strconv.ParseFloat(rec[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		if noScaling[id] != "" {
			continue
		}
		ids[id] = true
		reply := append([]byte{0x46, 0xA2, 0x0B, id}, append(append(raw, raw...), raw...)...)
		results, err := ParseResults(reply)
		if err != nil || len(results) != 1 {
			t.Fatalf("%02X: %d results, %v", id, len(results), err)
		}
		got := results[0]
		for _, v := range []float64{got.Value, got.Min, got.Max} {
			if math.Abs(v-want) > rounding+roundedUnits[id]*math.Abs(want) {
				t.Errorf("%02X of %s: %v, want %v", id, rec[2], v, want)
			}
		}
		if unit := unitOf(id, rec[1]); got.Unit != unit {
			t.Errorf("%02X: unit %q, want %q", id, got.Unit, unit)
		}
		if notRun := rec[2] == "0000"; notRun != (got.Outcome == NotRun) || !notRun && got.Outcome != Passed {
			t.Errorf("%02X of %s between itself and itself: %v", id, rec[2], got.Outcome)
		}
	}
	if len(ids) != 78 {
		t.Errorf("%d ids compared", len(ids))
	}
}

// unitOf is our name of the library's unit.
func unitOf(id byte, unit string) string {
	if more := moreOfUnit[id]; more != "" {
		return more
	}
	if ours := libraryUnits[unit]; ours != "" {
		return ours
	}
	return unit
}
