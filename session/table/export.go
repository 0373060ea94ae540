package table

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/prose"
)

// Export writes samples as time_s,ecu,signal,value,unit in order of time; [Import] reads it.
// Times have six decimals. Values are rounded to a tenth of the signal's step or finer, and not
// at all where the step is not known; one that is not finite is an empty cell. The unit is that of
// unit, or of the table of parameters when unit is nil. The samples are not touched.
func Export(w io.Writer, samples []pids.Sample, unit func(pids.Signal) string) error {
	byTime := func(a, b pids.Sample) int { return cmp.Compare(a.At, b.At) }
	if !slices.IsSortedFunc(samples, byTime) {
		samples = slices.Clone(samples)
		slices.SortStableFunc(samples, byTime)
	}
	if unit == nil {
		unit = unitOf
	}
	out := csv.NewWriter(w)
	row := []string{"time_s", "ecu", "signal", "value", "unit"}
	err := out.Write(row)
	var number []byte
	for i := 0; i < len(samples) && err == nil; i++ {
		s := &samples[i]
		number = appendSeconds(number[:0], s.At)
		row[0] = string(number)
		row[1], row[2] = onOneLine(s.ECU), onOneLine(string(s.Signal))
		number = appendValue(number[:0], tidy(s.Value, Step(s.Signal)))
		row[3], row[4] = string(number), onOneLine(unit(s.Signal))
		err = out.Write(row)
	}
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	if err != nil {
		return fmt.Errorf("cannot write the CSV: %w; check that the disk has room", err)
	}
	return nil
}

// onOneLine replaces what a terminal could obey by spaces.
func onOneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if prose.Steers(r) {
			return ' '
		}
		return r
	}, s)
}

// appendSeconds writes a time with six decimals.
func appendSeconds(b []byte, d time.Duration) []byte {
	us := d.Microseconds()
	if us < 0 {
		b = append(b, '-')
	}
	whole, part := us/1e6, us%1e6
	b = strconv.AppendUint(b, uint64(max(whole, -whole)), 10)
	b = append(b, '.')
	part = max(part, -part)
	for unit := int64(100_000); unit > 0; unit /= 10 {
		b = append(b, byte('0'+part/unit%10))
	}
	return b
}

// appendValue writes a number so that it reads back the same, without an exponent where
// it has a usual size.
func appendValue(b []byte, v float64) []byte {
	switch size := math.Abs(v); {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return b
	case size == 0 || size >= 1e-6 && size < 1e15:
		return strconv.AppendFloat(b, v, 'f', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'g', -1, 64)
}
