package pids

import (
	"errors"
	"fmt"
	"testing"
)

// Each parameter of a freeze frame has the frame's number behind it (SAE J1979 service 02,
// from memory). The numbers are those of live data, computed.
func TestParseFreezeFrame(t *testing.T) {
	for _, c := range []struct {
		reply string
		asked []byte
		want  string
	}{
		{"42 0C 00 1A F8", []byte{0x0C}, "[RPM 1726]"},
		{"42 05 00 7B 0C 00 1A F8 0D 00 64", []byte{0x0C, 0x0D, 0x05}, "[ECT 83 RPM 1726 VSS 100]"},
		{"42 0D 02 64", []byte{0x0C, 0x0D}, "[VSS 100]"},
	} {
		parts, err := ParseFreezeFrame(unhex(t, c.reply), c.asked...)
		if err != nil {
			t.Errorf("%s: %v", c.reply, err)
		}
		var got []any
		for _, p := range parts {
			values, err := p.PID.Append(nil, p.Data)
			if err != nil || len(values) != 1 {
				t.Fatalf("%s: %v, %v", c.reply, values, err)
			}
			got = append(got, values[0].Field.Signal, values[0].Value)
		}
		if fmt.Sprint(got) != c.want {
			t.Errorf("%s: %v, want %s", c.reply, got, c.want)
		}
	}
}

func TestParseFreezeFrame_Wrong(t *testing.T) {
	for _, c := range []struct {
		reply string
		cause error
		at    int // byte of the reply
	}{
		{"", ErrOther, 0},
		{"41 0C 1A F8", ErrOther, 0},
		{"42", ErrShort, 1},
		{"42 0C", ErrShort, 2},
		{"42 0C 00 1A", ErrShort, 4},
		{"42 0D 00 64 0C 00", ErrShort, 6},
		{"42 05 00 7B", ErrNotAsked, 1},
		{"42 0C 00 1A F8 05", ErrNotAsked, 5},
		{"42 0D 00 64 0D 00 64", ErrTwice, 4},
		{"42 0D 00 64 0C 01 1A F8", ErrOther, 5}, // of another frame
	} {
		parts, err := ParseFreezeFrame(unhex(t, c.reply), 0x0C, 0x0D)
		if parts != nil || !errors.Is(err, c.cause) {
			t.Errorf("%s: %v, %v; want %v", c.reply, parts, err, c.cause)
		}
		at := -1
		var data *DataError
		var reply *ReplyError
		switch {
		case errors.As(err, &data):
			at = data.Offset
		case errors.As(err, &reply):
			at = reply.Offset
		}
		if at != c.at {
			t.Errorf("%s: byte %d, want %d", c.reply, at, c.at)
		}
	}
}

// The live-data parser would read the number of the frame as data.
func FuzzParseFreezeFrame(f *testing.F) {
	f.Add(unhex(f, "42 0C 00 1A F8"))
	f.Fuzz(func(t *testing.T, reply []byte) {
		before := string(reply)
		_, _ = ParseFreezeFrame(reply, 0x0C)
		_, _ = ParseFreezeFrame(reply, 0x05, 0x0C, 0x0D)
		if string(reply) != before {
			t.Fatal("the reply was changed")
		}
	})
}

func ExampleParseFreezeFrame() {
	parts, err := ParseFreezeFrame([]byte{0x42, 0x0C, 0x00, 0x1A, 0xF8}, 0x0C)
	if err != nil {
		fmt.Println(err)
		return
	}
	values, err := parts[0].PID.Append(nil, parts[0].Data)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(values[0].Value, values[0].Field.Unit)
	// Output: 1726 rpm
}
