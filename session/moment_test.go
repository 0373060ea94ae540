package session

import (
	"fmt"
	"math"
	"testing"
	"time"
	"unsafe"

	"github.com/judder-obd/judder/session/complaint"
)

// What is kept of a moment comes back, values that were not read too, in 32 bytes.
func TestMoment_Kept(t *testing.T) {
	nan := math.NaN()
	for _, m := range []moment{
		{sec(1.5), sec(1.7), complaint.Point{SpeedKMH: 70, LoadPct: 45.88, ThrottlePct: 17.25, CoolantC: 88, Gear: 6}, 117.4, 1649.75},
		{sec(3600), sec(3604), complaint.Point{SpeedKMH: nan, LoadPct: nan, ThrottlePct: nan, CoolantC: nan}, nan, nan},
		{0, 1, complaint.Point{CoolantC: -40}, 0, 0},
	} {
		k := m.keep()
		if got := k.moment(); fmt.Sprint(got) != fmt.Sprint(m) {
			t.Errorf("%+v came back as %+v", m, got)
		}
	}
	if n := unsafe.Sizeof(kept{}); n > 32 {
		t.Errorf("%d bytes", n)
	}
}

// A long moment is kept in pieces that are as long together.
func TestMoment_Long(t *testing.T) {
	b, nan := newPassBook(), math.NaN()
	b.take(moment{sec(10), sec(21.5), complaint.Point{SpeedKMH: 70, LoadPct: 30, ThrottlePct: 20, CoolantC: 90}, 20, nan})
	all := b.all(nil, nil)
	if len(b.moments) != 3 || len(all) != 1 || all[0].Judged != 11500*time.Millisecond || all[0].Start != sec(10) || all[0].End != sec(21.5) {
		t.Errorf("%d pieces, passes %+v", len(b.moments), all)
	}
}
