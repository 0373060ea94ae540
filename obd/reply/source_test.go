package reply

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// ECUs are heard by their name; those that reported what they support are known. One that replies
// three times within a second is known as well, and no longer when it falls silent.
func TestDecoder_KnownECUs(t *testing.T) {
	var d Decoder
	say := func(at time.Duration, who string) bool {
		x := exchangeOf(at, obd.FormCAN11, "010C", who+"04410C1AF8")
		got := d.Decode(&x)
		unknown := d.Unknown(got.Messages[0])
		if misfits := len(got.Samples) == 0 && got.Misfits == 1; misfits != unknown {
			t.Errorf("of %s: %+v", who, got)
		}
		return !unknown
	}
	if !say(0, "7EB") {
		t.Error("nobody is known, so all are believed")
	}
	x := exchangeOf(time.Second, obd.FormCAN11, "0100", "7E8 06 41 00 BE 1F A8 13", "7EA 03 41 0D 20", "7ED 04 41 10 01 02", "7EC 10 0A 41 00 3F 05 44 0B")
	d.Decode(&x)
	if got := d.KnownECUs(); !slices.Equal(got, []string{"7E8"}) {
		t.Errorf("known %v", got)
	}
	if !d.Heard("7EB") || !d.Heard("7E8") || d.Heard("7EE") {
		t.Errorf("heard %v %v %v", d.Heard("7EB"), d.Heard("7E8"), d.Heard("7EE"))
	}
	for i, want := range []bool{false, false, true, true} {
		if got := say(10*time.Second+time.Duration(i)*300*time.Millisecond, "7EB"); got != want {
			t.Errorf("reply %d: known %v", i, got)
		}
	}
	if say(12*time.Second, "7EB") {
		t.Error("known by what it said before")
	}
	for i, want := range []bool{false, false, true} { // the third a second after the first
		if say(20*time.Second+time.Duration(i)*time.Second/2, "7EB") != want {
			t.Errorf("within a second, reply %d: known %v", i, !want)
		}
	}
	if !say(33*time.Second, "7E8") {
		t.Error("one reply of the known one is not believed")
	}
	if d.Unknown(Message{}) {
		t.Error("a reply without a name is unknown")
	}
}

// The older buses have a check byte: a header there is what it is.
func TestDecoder_KnownOnOlderBuses(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormKLine, "0100", "48 6B 10 41 00 BE 3E B8 11 C1")
	d.Decode(&x)
	x = exchangeOf(time.Second, obd.FormKLine, "010C", "48 6B 18 41 0C 1A F8 2A")
	if got := d.Decode(&x); len(got.Samples) != 1 || d.Unknown(got.Messages[0]) {
		t.Errorf("%+v", got)
	}
}

// What is unfinished, and of whom there are only parts, is of the frames since the request.
func TestDecoder_PartsOnly(t *testing.T) {
	var d Decoder
	x := exchangeOf(time.Second, obd.FormCAN11, "0902", "7E8 10 14 49 02 01 31 44 34", "7E9 10 14 49 02 01 31 44 34", "7EA 05 49 02 01 31 <DATA ERROR", "7E8 04 49 02 01 31")
	if got := d.Decode(&x); !got.Unfinished || !slices.Equal(got.PartsOnly, []string{"7E9", "7EA"}) {
		t.Errorf("%+v", got)
	}
	x = exchangeOf(2*time.Second, obd.FormCAN11, "010C", "7E8 04 41 0C 1A F8")
	if got := d.Decode(&x); got.Unfinished || len(got.PartsOnly) > 0 {
		t.Errorf("of the exchange before: %+v", got)
	}
	x = exchangeOf(3*time.Second, obd.FormCAN11, "0902", "7E8 10 14 49 02 01 31 44 34")
	x.Lines[0].At = x.Sent
	if got := d.Decode(&x); !got.Unfinished || len(got.PartsOnly) != 1 {
		t.Errorf("at the moment of the request: %+v", got)
	}
	x.Sent += time.Millisecond
	if got := d.Decode(&x); got.Unfinished || len(got.PartsOnly) > 0 {
		t.Errorf("before the request: %+v", got)
	}
	if got := d.Decode(&x); got.Damaged != 1 { // it cuts off the one before
		t.Errorf("%+v", got)
	}
}

// A reply at the very moment of its request is whole since then.
func TestDecoder_PartsOnlyAtOnce(t *testing.T) {
	var d Decoder
	x := exchangeOf(time.Second, obd.FormCAN11, "010C", "7E8 04 41 0C 1A F8")
	x.Lines[0].At = x.Sent
	if got := d.Decode(&x); len(got.PartsOnly) > 0 || len(got.Messages) != 1 {
		t.Errorf("%+v", got)
	}
}

// Frames on CAN are padded to eight bytes or cut at their length, as the adapter shows them. Once
// it is seen that they are padded, one that is shorter has lost bytes (layout: ISO 15765-2).
func TestDecoder_NarrowFrames(t *testing.T) {
	const (
		padded, cut, full = "7E804410C1AF8AAAAAA", "7E804410C1AF8", "7E807410C1AF80D3305"
		between           = "7E804410C1AF8AA"
		first             = "7E8100A41043F05440B"
		last, lastCut     = "7E821210C17B8AAAAAA", "7E821210C17B8"
	)
	for _, c := range []struct {
		name  string
		lines []string
		last  bool // a reply comes of the last line
	}{
		{"cut from the start", []string{cut, cut, cut}, true},
		{"two padded", []string{padded, padded, cut}, true},
		{"three padded", []string{padded, padded, padded, cut}, false},
		{"padded for long", append(slices.Repeat([]string{padded}, 20), cut), false},
		{"frames that need no padding", []string{full, full, full, full, cut}, true},
		{"neither padded nor cut", []string{between}, false},
		{"the second cut in a row", []string{padded, padded, padded, cut, cut}, false},
		{"the third", []string{padded, padded, padded, cut, cut, cut}, true},
		{"a padded one between the second and the third", []string{padded, padded, padded, cut, cut, padded, cut}, false},
		{"then the next", []string{padded, padded, padded, cut, cut, padded, cut, cut}, true},
		{"cut for long, then padded, then cut", append(slices.Repeat([]string{cut}, 20), padded, padded, padded, cut), false},
		{"a long reply", []string{first, last}, true},
		{"a long reply, cut", []string{first, lastCut}, true},
		{"a long reply, cut behind two padded frames", []string{padded, padded, first, lastCut}, true},
		{"a long reply, cut behind three", []string{padded, padded, padded, first, lastCut}, false},
	} {
		var d Decoder
		for i, line := range c.lines {
			request := "010C"
			if line == first || line == last || line == lastCut {
				request = "0104050B0C"
			}
			x := exchangeOf(time.Duration(i)*time.Second, obd.FormCAN11, request, line)
			got := d.Decode(&x)
			if i == len(c.lines)-1 && line != full && (len(got.Messages) == 1) != c.last {
				t.Errorf("%s: %d replies, %d damaged", c.name, len(got.Messages), got.Damaged)
			}
		}
	}
}
