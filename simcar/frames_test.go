package simcar

import (
	"bytes"
	"fmt"
	"testing"
	"time"
)

// ISO 15765-2 framing of the ELM327 data sheet's VIN example (p.42) and its counterpart
// with two PIDs in one frame.
func TestAppendSegments_WorkedExamples(t *testing.T) {
	for _, row := range []struct {
		payload []byte
		pad     byte
		want    string
	}{
		{[]byte{0x41, 0x0C, 0x1A, 0xF8}, 0xAA, "[04410C1AF8AAAAAA]"},
		{append([]byte{0x49, 0x02, 0x01}, "1D4GP00R55B123456"...), 0,
			"[1014490201314434 2147503030523535 2242313233343536]"},
		{[]byte{0x41, 0x04, 0x3F, 0x05, 0x44, 0x0B, 0x21, 0x0C, 0x17, 0xB8}, 0, // p.45
			"[100A41043F05440B 21210C17B8000000]"},
	} {
		if got := fmt.Sprintf("%X", appendSegments(nil, row.payload, row.pad)); got != row.want {
			t.Errorf("got %s, want %s", got, row.want)
		}
	}
}

// The sequence digit runs 1…F, 0, 1 (ISO 15765-2).
func TestAppendSegments_SequenceWraps(t *testing.T) {
	frames := appendSegments(nil, make([]byte, 203), 0)
	if len(frames) != 30 { // 203 bytes: first frame and 29 more
		t.Fatalf("got %d frames, want 30", len(frames))
	}
	if frames[15][0] != 0x2F || frames[16][0] != 0x20 || frames[17][0] != 0x21 {
		t.Errorf("got %X %X %X, want 2F 20 21", frames[15][0], frames[16][0], frames[17][0])
	}
	if got := appendSegments(nil, make([]byte, 5000), 0)[0]; got[0] != 0x1F || got[1] != 0xFF {
		t.Errorf("got % X, want the length cut at 4095", got[:2])
	}
}

func TestSeparation(t *testing.T) {
	for _, row := range []struct {
		frame []byte
		gap   time.Duration
		ok    bool
	}{
		{[]byte{0x30, 0, 0}, 0, true},
		{[]byte{0x30, 0, 0x14}, 20 * time.Millisecond, true},
		{[]byte{0x30, 0, 0xF5}, 500 * time.Microsecond, true},
		{[]byte{0x30, 0, 0x80}, 127 * time.Millisecond, true}, // reserved: taken as the longest
		{[]byte{0x30}, 0, true},
		{[]byte{0x31, 0, 0}, 0, false},
		{[]byte{0x32, 0, 0}, 0, false},
		{[]byte{0x02, 1, 0}, 0, false},
		{nil, 0, false},
	} {
		if gap, ok := separation(row.frame); gap != row.gap || ok != row.ok {
			t.Errorf("% X: got %v %v, want %v %v", row.frame, gap, ok, row.gap, row.ok)
		}
	}
}

func TestSinglePayload(t *testing.T) {
	if b, ok := singlePayload([]byte{2, 1, 0x0C, 0, 0, 0, 0, 0}); !ok || !bytes.Equal(b, []byte{1, 0x0C}) {
		t.Errorf("got % X %v", b, ok)
	}
	for _, bad := range [][]byte{nil, {0}, {3, 1}, {0x10, 8, 1, 2, 3, 4, 5, 6}, {8, 1, 2, 3, 4, 5, 6, 7, 8}} {
		if b, ok := singlePayload(bad); ok {
			t.Errorf("% X: got % X, want refusal", bad, b)
		}
	}
}

// Whole messages of the older buses; the check bytes were computed by the rules of
// ISO 9141-2, ISO 14230 and SAE J1850, and the J1850 one agrees with the common check
// value of this CRC: 4B for "123456789" (CRC-8/SAE-J1850 in the public CRC catalogue).
func TestLegacyFrames_WorkedExamples(t *testing.T) {
	rpm := []byte{0x41, 0x0C, 0x1A, 0xF8}
	for _, row := range []struct {
		name, want string
		got        []byte
	}{
		{"ISO 9141-2", "48 6B 10 41 0C 1A F8 22", iso9141Reply(0x10, rpm)},
		{"ISO 14230", "84 F1 10 41 0C 1A F8 E4", kwpReply(0x10, rpm)},
		{"J1850 VPW", "48 6B 10 41 0C 1A F8 B2", j1850Reply(0x48, 0x10, rpm)},
	} {
		if got := fmt.Sprintf("% X", row.got); got != row.want {
			t.Errorf("%s: got %s, want %s", row.name, got, row.want)
		}
	}
	if got := crc8([]byte("123456789")); got != 0x4B {
		t.Errorf("CRC: got %02X, want 4B", got)
	}
	if got := crc8([]byte{0x68, 0x6A, 0xF1, 0x01, 0x0C}); got != 0x8B {
		t.Errorf("CRC of the request: got %02X, want 8B", got)
	}
	if got := checksum([]byte{0x68, 0x6A, 0xF1, 0x01, 0x0C}); got != 0xD0 {
		t.Errorf("sum of the request: got %02X, want D0", got)
	}
}
