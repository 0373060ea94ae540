package reply

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// The hot path: one bundled reply taken apart into engine speed and road speed. It must not
// allocate.
func BenchmarkDecodeExchange(b *testing.B) {
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "010C0D1", bundleLine)
	dst := d.Decode(&x).Samples
	if len(dst) != 2 {
		b.Fatalf("%d readings", len(dst))
	}
	b.ReportAllocs()
	for b.Loop() {
		x.Sent += 60 * time.Millisecond
		x.Lines[0].At = x.Sent + 20*time.Millisecond
		dst = d.Decode(&x).Samples
	}
	if len(dst) != 2 || d.Counts.Damaged != 0 || d.Counts.Unasked != 0 {
		b.Fatalf("%d readings, %+v", len(dst), d.Counts)
	}
}

// No form and no length of reply allocates once the decoder has seen its like.
func TestDecoder_AllocatesNothing(t *testing.T) {
	for _, c := range []struct {
		form    obd.Form
		request string
		lines   []string
		want    int
	}{
		{obd.FormCAN11, "010C0D1", []string{"7E8 06 41 0C 1A F8 0D 64"}, 2},
		{obd.FormCAN11, "010D", []string{"7E8 03 41 0D 64", "7E9 03 41 0D 63"}, 2},
		{obd.FormCAN29, "0104050B0C", []string{"18DAF110100A41043F05440B", "18DAF11021210C17B8000000"}, 4},
		{obd.FormKLine, "010C", []string{"48 6B 10 41 0C 1A F8 22"}, 1},
		{obd.FormJ1850, "010C", []string{"48 6B 10 41 0C 1A F8 B2"}, 1},
		{obd.FormBare, "0104050B0C", []string{"00A", "0: 41 04 3F 05 44 0B", "1: 21 0C 17 B8 00 00 00"}, 4},
		{obd.FormCAN11, "010C", []string{"7E8 04 41 0C 1A F8 <DATA ERROR", "7E8 04 41 0C 1A"}, 0},
	} {
		var d Decoder
		x := exchangeOf(0, c.form, c.request, c.lines...)
		var dst []pids.Sample
		for range 3 {
			dst = d.Decode(&x).Samples
		}
		allocations := testing.AllocsPerRun(100, func() { dst = d.Decode(&x).Samples })
		// A frame that is not whole costs an error, which names it.
		if len(dst) != c.want || allocations > 0 && c.want > 0 {
			t.Errorf("%q: %d readings, want %d; %.0f allocations", c.lines, len(dst), c.want, allocations)
		}
	}
}
