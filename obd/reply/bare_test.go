package reply

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Lines of an adapter without headers (ELM327 data sheet pp. 33 and 42): one reply is one line of
// seven bytes at most, a longer one has its length in front and its parts numbered.
func TestDecoder_BareLines(t *testing.T) {
	for _, c := range []struct {
		name    string
		request string
		lines   string
		damaged int
		want    []string
	}{
		{"seven bytes", "0904", "49 04 01 53 49 4D 43", 0, []string{"49 04 01 53 49 4D 43"}},
		{"eight bytes", "0904", "49 04 01 53 49 4D 43 41", 1, nil},
		{"half a byte", "010C", "41 0C 1A F", 1, nil},
		{"an answer of the adapter itself", "ATRV", "12.4V", 0, nil},
		{"nothing but zeros", "010C", "00 0C 1A F8", 1, nil},
		{"eight bytes in parts", "0904", "008|0: 49 04 01 53 49 4D|1: 43 41", 0, []string{"49 04 01 53 49 4D 43 41"}},
		{"parts that fill their lines", "0904", "00D|0: 49 04 01 53 49 4D|1: 43 41 52 2D 45 4E 47", 0, []string{"49 04 01 53 49 4D 43 41 52 2D 45 4E 47"}},
		{"a part too short", "0904", "00D|0: 49 04 01 53 49 4D|1: 43 41 52 2D 45 4E", 1, nil},
		{"a first part too short", "0904", "00D|0: 49 04 01 53 49|1: 43 41 52 2D 45 4E 47", 2, nil},
		{"never whole", "0904", "00D|0: 49 04 01 53 49 4D", 1, nil},
		{"sixteen parts and more", "0904", longReply(130), 0, []string{"49 04" + strings.Repeat(" 00", 128)}},
		{"begun twice", "0904", "00D|0: 49 04 01 53 49 4D|008|0: 49 04 01 53 49 4D|1: 43 41", 0, []string{"49 04 01 53 49 4D 43 41"}},
		{"a part of nothing", "0904", "0: 49 04 01 53 49 4D", 1, nil},
		{"two digits in front", "0904", "008|10: 49 04 01 53 49 4D", 2, nil},
		{"no digit in front", "0904", "008|G: 49 04 01 53 49 4D", 2, nil},
	} {
		var d Decoder
		got := messages(&d, exchangeOf(0, obd.FormBare, c.request, strings.Split(c.lines, "|")...))
		if !slices.Equal(got, c.want) || d.Counts.Damaged != c.damaged {
			t.Errorf("%s: %q, want %q; %d damaged, want %d", c.name, got, c.want, d.Counts.Damaged, c.damaged)
		}
	}
}

// A last part that is full shows no padding: one that is cut at the length is read behind it.
func TestDecoder_FullPartIsNotPadded(t *testing.T) {
	var d Decoder
	for i, n := range []int{13, 20, 8, 15, 13, 9} {
		if got := messages(&d, exchangeOf(time.Duration(i)*time.Second, obd.FormBare, "0904", longLines(n)...)); len(got) != 1 {
			t.Errorf("%d bytes: %q", n, got)
		}
	}
}

// longReply is a reply of n bytes to 0904, in parts.
func longReply(n int) string {
	return strings.Join(longLines(n), "|")
}

func longLines(n int) []string {
	data := append([]byte{0x49, 0x04}, make([]byte, n-2)...)
	lines := []string{string("0123456789ABCDEF"[n>>8]) + obd.Hex(byte(n))}
	for i, size := 0, 6; len(data) > 0; i, size = i+1, 7 {
		part := data[:min(size, len(data))]
		data = data[len(part):]
		lines = append(lines, string("0123456789ABCDEF"[i&15])+": "+obd.Hex(part...))
	}
	return lines
}

// More replies than all ECUs can send to all requests remembered are those of no car.
func TestDecoder_TooManyReplies(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "010C", slices.Repeat([]string{"7E8 04 41 0C 1A F8"}, repliesMost+2)...)
	if got := d.Decode(&x); len(got.Messages) != 64 || got.Unasked != 2 || d.Counts.Messages != 64 {
		t.Errorf("%d messages, %d unasked", len(got.Messages), got.Unasked)
	}
}

// A reply finds its request among the last eight, for six seconds.
func TestDecoder_Recent(t *testing.T) {
	ask := func(others int, after time.Duration) *Decoded {
		var d Decoder
		x := exchangeOf(0, obd.FormCAN11, "010C")
		d.Decode(&x)
		for range others {
			x = exchangeOf(time.Millisecond, obd.FormCAN11, "0111")
			d.Decode(&x)
		}
		x = exchangeOf(time.Millisecond, obd.FormCAN11, "0105")
		x.Lines = []obd.Line{{At: after, Text: "7E8 04 41 0C 1A F8"}}
		return d.Decode(&x)
	}
	for _, c := range []struct {
		others int
		after  time.Duration
		want   int
	}{{0, time.Second, 1}, {6, time.Second, 1}, {7, time.Second, 0}, {0, 6 * time.Second, 1}, {0, 6*time.Second + time.Microsecond, 0}} {
		got := ask(c.others, c.after)
		if len(got.Messages) != c.want || got.Unasked != 1-c.want || c.want == 1 && !got.Messages[0].Late {
			t.Errorf("%d requests later, after %v: %+v", c.others, c.after, got)
		}
	}
}

// A line that lost its header is taken for a reply of two to seven bytes, not for a refusal.
func TestDecoder_HeaderLostLengths(t *testing.T) {
	for _, c := range []struct {
		request, line string
		want          int
	}{
		{"03", "43", 0}, {"03", "43 00", 1}, {"0904", "49 04 01 53 49 4D 43", 1}, {"0904", "49 04 01 53 49 4D 43 41", 0},
		{"03", "7F 03 11", 0}, {"010C", "41 0D 33", 0},
	} {
		var d Decoder
		x := exchangeOf(0, obd.FormCAN29, c.request, c.line)
		if got := d.Decode(&x); len(got.Messages) != c.want || got.AnyBare() != (c.want == 1) || got.Damaged != 1-c.want || got.Nameless != 1-c.want {
			t.Errorf("%q for %s: %+v", c.line, c.request, got)
		}
	}
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "010C", "7E8 04 41 0C 1A F8")
	if d.Decode(&x).AnyBare() {
		t.Error("with its header")
	}
}
