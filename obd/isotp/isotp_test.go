package isotp

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"
)

func frame(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// split is the test's own segmentation of a payload, written from the frame layout.
func split(payload []byte) [][]byte {
	if len(payload) <= 7 {
		return [][]byte{append([]byte{byte(len(payload))}, payload...)}
	}
	n := len(payload)
	out := [][]byte{append([]byte{0x10 | byte(n>>8), byte(n)}, payload[:6]...)}
	for i, seq := 6, 1; i < n; i, seq = i+7, seq+1 {
		out = append(out, append([]byte{0x20 | byte(seq&15)}, payload[i:min(i+7, n)]...))
	}
	return out
}

// The VIN message of the ELM327 data sheet, p. 42: 20 bytes in three frames.
func TestAssembler_DataSheetVIN(t *testing.T) {
	var a Assembler
	var got []byte
	for _, f := range []string{"1014490201314434", "2147503030523535", "2242313233343536"} {
		p, err := a.Push(frame(t, f))
		if err != nil {
			t.Fatal(err)
		}
		got = p
	}
	if want := "\x49\x02\x011D4GP00R55B123456"; string(got) != want {
		t.Errorf("payload %q, want %q", got, want)
	}
}

// The sister chip's data sheet, p. 39: two ECUs answer at once, each 19 bytes, and the
// last frame carries bytes beyond the length, which are cut.
func TestAssembler_TwoSendersAndPadding(t *testing.T) {
	var a, b Assembler
	push := func(as *Assembler, s string) []byte {
		p, err := as.Push(frame(t, s))
		if err != nil {
			t.Fatalf("%s: %v", s, err)
		}
		return p
	}
	push(&a, "1013490401353630")
	push(&b, "1013490401353630")
	push(&a, "2132383934394143")
	if p := push(&a, "2200000000000031"); len(p) != 0x13 || string(p[3:13]) != "56028949AC" {
		t.Errorf("first sender: %q", p)
	}
	push(&b, "2132383935344143")
	if p := push(&b, "2200000000000000"); len(p) != 0x13 || string(p[3:13]) != "56028954AC" {
		t.Errorf("second sender: %q", p)
	}
}

// N bytes take 1 frame up to 7, else 1 + ceil((N-6)/7): ISO 15765-2 as in the Linux kernel's
// documentation; 1 and 2 and 3 and 586 were counted by hand from the rule.
func TestFrames(t *testing.T) {
	for n, want := range map[int]int{1: 1, 7: 1, 8: 2, 13: 2, 14: 3, 20: 3, 4095: 586} {
		if got := Frames(n); got != want {
			t.Errorf("Frames(%d) = %d, want %d", n, got, want)
		}
	}
	for n := 1; n <= 4095; n++ {
		if got := len(split(make([]byte, n))); got != Frames(n) {
			t.Fatalf("Frames(%d) = %d, segmentation made %d", n, Frames(n), got)
		}
	}
}

func TestAssembler_EveryLength(t *testing.T) {
	payload := make([]byte, 4095)
	for i := range payload {
		payload[i] = byte(i*7 + i>>8)
	}
	var a Assembler
	for n := 1; n <= len(payload); n++ {
		var got []byte
		for _, f := range split(payload[:n]) {
			p, err := a.Push(f)
			if err != nil {
				t.Fatalf("length %d: %v", n, err)
			}
			got = p
		}
		if !bytes.Equal(got, payload[:n]) {
			t.Fatalf("length %d did not come back", n)
		}
	}
}

// Each violation, and after it a good message: the fault must not outlive its frame.
func TestAssembler_ViolationsThenRecover(t *testing.T) {
	for _, c := range []struct {
		name   string
		frames []string
		want   error
	}{
		{"no bytes", []string{""}, ErrEmpty},
		{"unknown type", []string{"4000"}, ErrType},
		{"single frame of nothing", []string{"00"}, ErrLength},
		{"single frame longer than a frame", []string{"0841"}, ErrLength},
		{"single frame cut", []string{"04410C1A"}, ErrLength},
		{"single frame with bytes of another behind it", []string{"04410C1AF87E804410C"}, ErrLength},
		{"first frame cut", []string{"1014490201"}, ErrLength},
		{"first frame of a length that fits a single one", []string{"1007490201314434"}, ErrLength},
		{"consecutive first", []string{"2141"}, ErrUnexpected},
		{"one frame missing", []string{"1014490201314434", "2242313233343536"}, ErrSequence},
		{"frame twice", []string{"1014490201314434", "2147503030523535", "2147503030523535"}, ErrSequence},
		{"consecutive cut", []string{"1014490201314434", "2147503030"}, ErrLength},
		{"second message begins", []string{"1014490201314434", "04410C1AF8"}, ErrCutOff},
	} {
		t.Run(c.name, func(t *testing.T) {
			var a Assembler
			var err error
			for _, f := range c.frames {
				if len(f)%2 == 1 { // a half byte at the end of a garbled line
					f = f[:len(f)-1]
				}
				_, err = a.Push(frame(t, f))
			}
			if !errors.Is(err, c.want) {
				t.Fatalf("error %v, want %v", err, c.want)
			}
			var fe *FrameError
			if !errors.As(err, &fe) {
				t.Fatalf("%T carries no frame", err)
			}
			if last := c.frames[len(c.frames)-1]; !strings.Contains(err.Error(), fmt.Sprintf("% X", frame(t, last[:len(last)&^1]))) {
				t.Errorf("%q does not show the frame %s", err, last)
			}
			if p, err := a.Push(frame(t, "04410C1AF8")); err != nil || !bytes.Equal(p, frame(t, "410C1AF8")) {
				t.Errorf("after it: % X, %v", p, err)
			}
		})
	}
}

// A long message that cuts off another is taken itself (frames of the data sheet's VIN).
func TestAssembler_CutOffByALongOne(t *testing.T) {
	var a Assembler
	if _, err := a.Push(frame(t, "100A41043F05440B")); err != nil {
		t.Fatal(err)
	}
	if p, err := a.Push(frame(t, "1014490201314434")); p != nil || !errors.Is(err, ErrCutOff) {
		t.Fatalf("% X, %v", p, err)
	}
	for i, f := range []string{"2147503030523535", "2242313233343536"} {
		if p, err := a.Push(frame(t, f)); err != nil || (len(p) == 0x14) != (i == 1) {
			t.Errorf("%s: % X, %v", f, p, err)
		}
	}
}

func TestAssembler_FlowControlIsSkipped(t *testing.T) {
	var a Assembler
	if _, err := a.Push(frame(t, "1014490201314434")); err != nil {
		t.Fatal(err)
	}
	if p, err := a.Push(frame(t, "300000")); p != nil || err != nil {
		t.Errorf("flow control gave % X, %v", p, err)
	}
	if !a.Pending() {
		t.Error("flow control ended the message")
	}
}

func FuzzAssembler(f *testing.F) {
	f.Add([]byte{8, 0x10, 0x14, 0x49, 2, 1, 0x31, 0x44, 0x34, 8, 0x21, 1, 2, 3, 4, 5, 6, 7})
	f.Add([]byte{5, 4, 0x41, 0x0C, 0x1A, 0xF8})
	f.Fuzz(func(t *testing.T, in []byte) {
		var a Assembler
		for len(in) > 0 {
			n := min(int(in[0])%10, len(in)-1)
			p, _ := a.Push(in[1 : 1+n])
			if len(p) > 4095 {
				t.Fatalf("payload of %d bytes", len(p))
			}
			in = in[1+n:]
		}
		if p, err := a.Push([]byte{2, 1, 0}); len(p) != 2 || (err != nil && !errors.Is(err, ErrCutOff)) {
			t.Fatalf("does not recover: % X, %v", p, err)
		}
	})
}

func BenchmarkPushDecodeSingle(b *testing.B) {
	f := frame(b, "04410C1AF8000000")
	var a Assembler
	b.ReportAllocs()
	for b.Loop() {
		if _, err := a.Push(f); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleAssembler() {
	var a Assembler
	for _, f := range [][]byte{
		{0x10, 0x0A, 0x41, 0x04, 0x3F, 0x05, 0x44, 0x0B},
		{0x21, 0x21, 0x0C, 0x17, 0xB8, 0x00, 0x00, 0x00},
	} {
		payload, err := a.Push(f)
		fmt.Printf("% X %v\n", payload, err)
	}
	// Output:
	//  <nil>
	// 41 04 3F 05 44 0B 21 0C 17 B8 <nil>
}
