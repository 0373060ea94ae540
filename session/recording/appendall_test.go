package recording

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

// What is written at once is what is written one by one, byte for byte.
func TestAppendAll(t *testing.T) {
	entries := sampleEntries()
	for i := range 3 * chunkSize / 50 {
		entries = append(entries, OfReading(pids.Sample{At: time.Second + time.Duration(i)*time.Millisecond, ECU: "7E8", Signal: pids.RPM, Value: float64(i)}))
	}
	write := func(all bool) []byte {
		var file memFile
		w, err := NewWriter(&file, "sample.jsonl", sampleHeader)
		if err != nil {
			t.Fatal(err)
		}
		if all {
			err = w.AppendAll(slices.Values(entries))
		} else {
			for _, e := range entries {
				err = errors.Join(err, w.Append(e))
			}
		}
		if err := errors.Join(err, w.Close(WhyUser)); err != nil {
			t.Fatal(err)
		}
		return file.bytes()
	}
	if one, all := write(false), write(true); !bytes.Equal(one, all) {
		t.Errorf("%d bytes one by one, %d at once", len(one), len(all))
	}
}

// An entry that the format cannot hold ends it; what came before is written and counted.
func TestAppendAll_Refused(t *testing.T) {
	var file memFile
	w, err := NewWriter(&file, "sample.jsonl", sampleHeader)
	if err != nil {
		t.Fatal(err)
	}
	good := OfReading(pids.Sample{At: time.Second, Signal: pids.RPM, Value: math.Pi})
	bad := Entry{Kind: kindCount}
	if err := w.AppendAll(slices.Values([]Entry{good, good, bad, good})); !errors.Is(err, ErrNotUnderstood) {
		t.Errorf("error %v", err)
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
	if rec := load(t, file.bytes()); len(rec.Entries) != 2 || rec.Damage.Any() {
		t.Errorf("%d entries, %+v", len(rec.Entries), rec.Damage)
	}
	if err := w.AppendAll(slices.Values([]Entry{good})); !errors.Is(err, ErrClosed) {
		t.Errorf("after Close: %v", err)
	}
}
