package traffic

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Lines as an adapter lays them out with headers on (ELM327 data sheet, "Monitoring the bus" and its
// error texts), whole ones and damaged ones.
func TestParseLine(t *testing.T) {
	for _, c := range []struct {
		form obd.Form
		line string
		want Frame
		ok   bool
	}{
		{obd.FormCAN11, "1C4 00 12 34 56 78 9A BC DE", Frame{ID: 0x1C4}, true},
		{obd.FormCAN11, "1C4001234567 89ABCDE ", Frame{ID: 0x1C4}, true},
		{obd.FormCAN11, "1C4FF<DATA ERROR", Frame{ID: 0x1C4, Foreign: true}, true},
		{obd.FormCAN11, "1C4 FF 01 <DATA ERROR", Frame{ID: 0x1C4, Foreign: true}, true},
		{obd.FormCAN11, "1C4", Frame{ID: 0x1C4}, true},    // no data
		{obd.FormCAN11, "1C4RTR", Frame{ID: 0x1C4}, true}, // asks for another
		{obd.FormCAN29, "18DAF110034100", Frame{ID: 0x18DAF110}, true},
		{obd.FormCAN29, "0C 00 21 A4 FF <DATA ERROR", Frame{ID: 0x0C0021A4, Foreign: true}, true},
		{obd.FormCAN11, "1C400<RX ERROR", Frame{}, false},        // damaged
		{obd.FormCAN11, "1C4001", Frame{}, false},                // cut in a byte
		{obd.FormCAN11, "1C4001BUFFER FULL", Frame{}, false},     // cut by a full buffer
		{obd.FormCAN11, "1C400112233445566778", Frame{}, false},  // half a byte too many
		{obd.FormCAN11, "1C4001122334455667788", Frame{}, false}, // nine bytes
		{obd.FormCAN11, "8C400", Frame{}, false},                 // no id of 11 bits
		{obd.FormCAN29, "FFFFFFFF00", Frame{}, false},            // no id of 29 bits
		{obd.FormCAN29, "1C400", Frame{}, false},
		{obd.FormCAN11, "1C4 0G", Frame{}, false},
		{obd.FormCAN11, "STOPPED", Frame{}, false},
		{obd.FormCAN11, "BUFFER FULL", Frame{}, false},
		{obd.FormCAN11, "OK", Frame{}, false},
		{obd.FormCAN11, "", Frame{}, false},
		{obd.FormKLine, "48 6B 10 41 0C 1A F8 22", Frame{}, false},
	} {
		if got, ok := ParseLine(c.form, c.line); got != c.want || ok != c.ok {
			t.Errorf("%q: %+v, %v; want %+v, %v", c.line, got, ok, c.want, c.ok)
		}
	}
}

// Every id is in exactly one slice, and the slices' filters are what AT CM and AT CF take.
func TestSlices(t *testing.T) {
	for form, c := range map[obd.Form]struct {
		all, step uint32
		digits    int
	}{obd.FormCAN11: {0x7FF, 1, 3}, obd.FormCAN29: {0x1FFFFFFF, 9973, 8}} {
		list := Slices(form)
		if len(list) != 8 {
			t.Fatalf("%d slices", len(list))
		}
		for id := uint32(0); id <= c.all; id += c.step {
			in := 0
			for _, s := range list {
				if s.Holds(id) {
					in++
				}
			}
			if in != 1 {
				t.Fatalf("%X is in %d slices", id, in)
			}
		}
		for _, s := range append(list, One(form, 0x123)) {
			if mask, value := s.Filter(); len(mask) != c.digits || len(value) != c.digits || strings.ToUpper(mask+value) != mask+value {
				t.Errorf("mask %q, value %q", mask, value)
			}
		}
	}
	if s := One(obd.FormCAN11, 0x1C4); !s.Holds(0x1C4) || s.Holds(0x1C5) {
		t.Error("one id is not one id")
	}
	if len(Slices(obd.FormKLine)) != 0 {
		t.Error("an older bus has no ids")
	}
}

func linesOf(text string) (lines []obd.Line) {
	for _, l := range strings.Split(text, "/") {
		lines = append(lines, obd.Line{Text: strings.TrimSpace(l)})
	}
	return lines
}

// What stands beside frames: status texts, damage, a buffer that is full on the line of a cut frame or on
// its own (then the line before may be cut, though it looks whole).
func TestHear(t *testing.T) {
	s := Slice{Mask: 0x700, Value: 0x100, Digits: 3}
	for _, c := range []struct {
		text                     string
		frames, outside, damaged int
		full                     bool
	}{
		{"12301 / 12302 / 1FF80<DATA ERROR / STOPPED", 3, 0, 0, false},
		{"STOPPED", 0, 0, 0, false},
		{"12301 / 22302 / STOPPED", 1, 1, 0, false},
		{"12301 / 1230BUFFER FULL", 1, 0, 0, true},
		{"12301 / 1230 / BUFFER FULL", 1, 0, 0, true},
		{"12301 / 123 / BUFFER FULL", 1, 0, 0, true}, // cut between bytes
		{"12301 / 123<RX ERROR / 12x / STOPPED", 1, 0, 2, false},
		{"OK", 0, 0, 0, false},
	} {
		h := Hear(obd.FormCAN11, s, linesOf(c.text), time.Second)
		frames, outside := 0, 0
		for _, n := range h.Frames {
			frames += n
		}
		for _, n := range h.Outside {
			outside += n
		}
		if frames != c.frames || outside != c.outside || h.Damaged != c.damaged || h.Full != c.full {
			t.Errorf("%s: %+v", c.text, h)
		}
	}
}

// An id's rate is its frames in the time that its slice was listened to; diagnostics do not count. All
// worked out by hand.
func TestTally(t *testing.T) {
	list := Slices(obd.FormCAN11) // by the bits 002, 020 and 200 of an id
	of := func(id uint32) Slice {
		for _, s := range list {
			if s.Holds(id) {
				return s
			}
		}
		t.Fatalf("%X is in no slice", id)
		return Slice{}
	}
	tally := Tally{Form: obd.FormCAN11, Fast: 15}
	for range 2 {
		for _, s := range list {
			h := Heard{Frames: map[uint32]int{}, For: 250 * time.Millisecond}
			for id, n := range map[uint32]int{0x100: 10, 0x202: 3, 0x7E8: 50, 0x450: 1} {
				if s == of(id) {
					h.Frames[id] = n
				}
			}
			tally.Add(s, h)
		}
	}
	// 20 in 0.5 s, 6 in 0.5 s, 2 in 0.5 s
	if got, want := tally.Sum(), (Sum{IDs: 3, PerSecond: 40 + 12 + 4, Fast: 1}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if id, ok := tally.Busiest(); id != 0x7E8 || !ok || tally.Ignored() || tally.Overflows() {
		t.Errorf("busiest %X, %+v", id, tally)
	}
	if id := tally.Absent(); tally.ids[id].frames != 0 || Diagnostic(obd.FormCAN11, id) {
		t.Errorf("%X is not absent", id)
	}

	// where the filter is ignored, each id could be heard all the time: 4 s
	tally.Add(of(0x100), Heard{Outside: map[uint32]int{0x300: 96, 0x100: 0}, For: 0})
	if got := tally.Sum(); !tally.Ignored() || got.IDs != 4 || got.PerSecond != 5+1.5+0.5+24 || got.Fast != 1 {
		t.Errorf("%+v", got)
	}
}

// Every slice that shows anything is cut short, or only some are.
func TestTally_Overflows(t *testing.T) {
	list := Slices(obd.FormCAN11)
	var tally Tally
	tally.Form = obd.FormCAN11
	tally.Add(list[0], Heard{Full: true, Frames: map[uint32]int{0: 1}, For: time.Millisecond})
	tally.Add(list[1], Heard{For: time.Millisecond})
	if !tally.Overflows() {
		t.Error("one slice with anything in it, and that full")
	}
	tally.Add(list[2], Heard{Frames: map[uint32]int{2: 1}, For: time.Millisecond})
	if tally.Overflows() || tally.Full != 1 || tally.Slices != 2 {
		t.Errorf("%+v", tally)
	}
	if new(Tally).Overflows() {
		t.Error("nothing was heard")
	}
}

// Whatever an adapter sends, a frame that is read has an id of its bus, and reading it again from its own
// text gives the same.
func FuzzParseLine(f *testing.F) {
	for _, line := range []string{"1C4001234567", "18DAF110034100<DATA ERROR", "123RTR", "BUFFER FULL", "12 3 0 1"} {
		f.Add(line, true)
		f.Add(line, false)
	}
	f.Fuzz(func(t *testing.T, line string, extended bool) {
		form := map[bool]obd.Form{false: obd.FormCAN11, true: obd.FormCAN29}[extended]
		got, ok := ParseLine(form, line)
		if !ok {
			if got != (Frame{}) {
				t.Errorf("%q: %+v of no frame", line, got)
			}
			return
		}
		if got.ID > idSpaces[form].all {
			t.Errorf("%q: id %X", line, got.ID)
		}
		if again, ok := ParseLine(form, ID(form, got.ID)); !ok || again.ID != got.ID {
			t.Errorf("%X is read as %X", got.ID, again.ID)
		}
	})
}
