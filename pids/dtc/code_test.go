package dtc

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids"
)

// Codes of two bytes: the encyclopaedia article on OBD-II PIDs (C158, U0158), the ELM327 data
// sheet p. 34 (0133), the others computed by the same rule; of three: the documentation of
// the Python package uds (C1678, B25B6, U3FFF), articles on failure types (P0127, B0039,
// C0031), and computed.
func TestCode_String(t *testing.T) {
	for bytes, want := range map[string]string{
		"01 33": "P0133", "C1 58": "U0158", "03 00": "P0300", "07 41": "P0741", "27 57": "P2757", "12 50": "P1250",
		"0A 0F": "P0A0F", "04 20": "P0420", "C1 00": "U0100", "C0 73": "U0073", "40 35": "C0035", "80 01": "B0001", "D0 0D": "U100D",
		"C1 40 87": "U0140-87", "01 27 00": "P0127-00", "80 39 10": "B0039-10", "40 31 23": "C0031-23",
		"56 78 9A": "C1678-9A", "A5 B6 C7": "B25B6-C7", "FF FF FF": "U3FFF-FF", "0A 9B 17": "P0A9B-17", "C4 16 00": "U0416-00", "C4 23 81": "U0423-81",
	} {
		b := unhex(t, bytes)
		c := Code{Number: uint16(b[0])<<8 | uint16(b[1])}
		if len(b) == 3 {
			c.FailureType, c.Three = b[2], true
		}
		if c.String() != want {
			t.Errorf("%s: %s, want %s", bytes, c, want)
		}
		if back, err := ParseCode(strings.ToLower(want)); err != nil || back != c {
			t.Errorf("%s read back: %+v, %v", want, back, err)
		}
	}
	for _, text := range []string{"", "P", "X0100", "P4000", "P01000", "P0100-", "P0100-1", "P0100-GG", "P01G0"} {
		if c, err := ParseCode(text); !errors.Is(err, ErrCode) {
			t.Errorf("%q: %v, %v", text, c, err)
		}
	}
}

func TestCode_Text(t *testing.T) {
	for code, want := range map[string]string{
		"P0300": "several", "P0304": "cylinder 4", "P0310": "cylinder 10", "P0741": "stuck off", "P0744": "intermittent", "P2763": "high",
		"U0140-87": "body module; message missing", "U0100": "engine control unit", "P0733": "gear 3", "P0712": "circuit low", "C0035-11": "left front; short to ground",
		"P0741-EE": "failure type EE", "P0741-00": "stuck off", "P0171-32": "low time", "P2099": "too rich, bank 2", "P0022": "over-retarded",
		"P2189": "too lean, bank 2", "P2190": "too rich, bank 2", "P219A": "bank 1", "P219B": "bank 2",
	} {
		c, err := ParseCode(code)
		if err != nil {
			t.Fatal(err)
		}
		if text, source := c.Text(); !strings.Contains(text, want) || source == "" {
			t.Errorf("%s: %q from %q, want %q in it", code, text, source, want)
		}
	}
	for _, code := range []string{"P1250", "P030A", "P3000", "U1000", "B1234", "P0999", "P072A", "P0023"} { // makers', gaps, none in the table
		c, err := ParseCode(code)
		if err != nil {
			t.Fatal(err)
		}
		if text, _ := c.Text(); text != "" {
			t.Errorf("%s: %q is a guess", code, text)
		}
	}
	maker := map[string]bool{"P1250": true, "P3000": true, "P3400": false, "P0741": false, "P2757": false, "U1000": true, "B0001": false, "C2000": true, "U3000": false}
	for code, want := range maker {
		if c, err := ParseCode(code); err != nil || c.Maker() != want {
			t.Errorf("%s: maker's %v, %v", code, c.Maker(), err)
		}
	}
}

// Runs are in order, do not overlap, and each row has text and source.
func TestCodeRows(t *testing.T) {
	for i, r := range codeRows {
		if (Code{Number: r.first}).Maker() {
			t.Errorf("row %04X is of a maker's range", r.first)
		}
		if r.text == "" || r.source == "" || r.last < r.first || len(r.kinds) > 0 && decimal(r.last)-decimal(r.first)+1 != len(r.kinds) {
			t.Errorf("row %d: %+v", i, r)
		}
		if r.first>>8 != r.last>>8 {
			t.Errorf("row %04X crosses a hundred", r.first)
		}
		if i > 0 && r.first <= codeRows[i-1].last {
			t.Errorf("row %04X begins within the row before", r.first)
		}
	}
}

// SAE J1979 replies: the first from the ELM327 data sheet p. 34; those of two and of four
// codes from raw replies in a car-computer forum, laid out as an article on ISO 15031-5 has
// it, and so 43 00; the zeros beyond the count of four are padding. The others are computed.
func TestParseCodes(t *testing.T) {
	for _, c := range []struct {
		reply string
		can   bool
		want  string
		err   error
	}{
		{"43 01 33 00 00 00 00", false, "[P0133]", nil},
		{"43 01 01 33", true, "[P0133]", nil},
		{"43 02 01 02 01 13", true, "[P0102 P0113]", nil},
		{"43 04 01 02 01 13 01 23 02 22", true, "[P0102 P0113 P0123 P0222]", nil},
		{"43 01 33 00 00 00 00", true, "[]", pids.ErrRecord}, // no count: not P3300
		{"43 00", true, "[]", nil},
		{"47 01 07 41", true, "[P0741]", nil},
		{"4A 01 03 04", true, "[P0304]", nil},
		{"43 03 01 02 01", true, "[]", pids.ErrRecord},       // cut, or without a count: they look the same
		{"43 03 00 04 20 07 41", true, "[]", pids.ErrRecord}, // P0300 P0420 P0741 without a count: not P0004, P2007
		{"43 03 00 04 20", true, "[]", pids.ErrRecord},
		{"43 05 07 41 AA AA AA AA", true, "[P0741]", pids.ErrShort}, // not B2AAA
		{"47 03 07 41 55 55", true, "[P0741]", pids.ErrShort},
		{"47 03 07 41 CC CC", true, "[P0741]", pids.ErrShort},
		{"4A 03 FF FF FF FF", true, "[]", pids.ErrShort},
		{"43 02 07 41", true, "[P0741]", pids.ErrShort},
		{"43 01 55 55", true, "[C1555]", nil}, // as many as the count says
		{"43", true, "[]", pids.ErrShort},
		{"43 02 01 02 01 13", false, "[]", pids.ErrRecord}, // a count, so no code: not P0201 twice
		{"43 04 01 02 01 13 01 23 02 22 00 00 00", false, "[]", pids.ErrLong},
		{"43 01 33", false, "[P0133]", pids.ErrShort},
		{"43 00 00 00 00 00 00", false, "[]", nil},
		{"43 05 07 41 AA AA 00 00", true, "[P0741]", pids.ErrShort}, // two frames, filled with two bytes
		{"43 00 00 00 00", true, "[]", nil},                         // a count of none, and filling
		{"43 00 AA AA AA AA AA", true, "[]", nil},
		{"43 00 AA AB", true, "[]", pids.ErrRecord},
		{"43 01 01 33 AA AA AA", true, "[]", pids.ErrRecord},
		{"43 00 01 33", true, "[]", pids.ErrRecord},
		{"41 0C 1A F8", true, "[]", pids.ErrOther},
		{"", true, "[]", pids.ErrOther},
	} {
		got, err := ParseCodes(unhex(t, c.reply), c.can)
		if fmt.Sprint(got) != c.want || !errors.Is(err, c.err) {
			t.Errorf("%s: %v, %v; want %s, %v", c.reply, got, err, c.want, c.err)
		}
	}
}

// The byte that is wrong: the first that the message has too much or too little (layout of SAE
// J1979), so that a person finds it in the raw line.
func TestParseCodes_Place(t *testing.T) {
	for _, c := range []struct {
		reply string
		can   bool
		at    int
	}{
		{"41 0C", true, 0},
		{"43", true, 1},
		{"43 01 01 33 AA AA AA", true, 4},
		{"43 02 07 41", true, 4},
		{"43 03 01 02 01", true, 5},
		{"43 02 01 02 01 13", false, 5},
		{"43 04 01 02 01 13 01 23 02 22 00 00 00", false, 7},
		{"43 01 33", false, 3},
	} {
		_, err := ParseCodes(unhex(t, c.reply), c.can)
		if at := place(t, err); at != c.at {
			t.Errorf("%s: byte %d, want %d", c.reply, at, c.at)
		}
	}
}

// place is the byte of a DataError.
func place(t *testing.T, err error) int {
	t.Helper()
	var d *pids.DataError
	if !errors.As(err, &d) {
		t.Fatalf("%v is no DataError", err)
	}
	return d.Offset
}

// Replies of service 19: the first is the example of ISO 14229-1 (from memory); that with
// 7E A0 is of python-udsoncan's tests, 0A of an article on that sub-function. The others are
// computed; all but those of 55 were read alike by python-udsoncan, which has five bytes a
// record there. 42 and 55 are laid out as iso14229 and the crate iso14229-1 have them.
func TestParseStatusCodes(t *testing.T) {
	for _, c := range []struct {
		reply, want string
		available   byte
		err         error
	}{
		{"59 02 7F 0A 9B 17 24 08 05 11 2F 00 00", "P0A9B-17 24 pending, P0805-11 2F current", 0x7F, nil},
		{"59 02 FF", "", 0xFF, nil},
		{"59 02 FF C1 40 87 2F C1 00 00 28", "U0140-87 2F current, U0100-00 28 history", 0xFF, nil},
		{"59 02 FF 12 34 56 20 00 00 00 00", "P1234-56 20 untested", 0xFF, nil},
		{"59 0A 7F 12 34 56 24 23 45 05 00 AB CD 01 2F", "P1234-56 24 pending, P2345-05 00 , B2BCD-01 2F current", 0x7F, nil},
		{"59 42 33 FF FF 04", "", 0xFF, nil},
		{"59 42 33 FF 7E 04 02 01 71 00 2F", "P0171-00 2F current", 0xFF, nil},
		{"59 42 AB 7E A0 04 20 12 34 56 25", "P1234-56 24 pending", 0x7E, nil},
		{"59 55 33 FF 04 04 20 00 2F 01 71 00 28", "P0420-00 2F current, P0171-00 28 history", 0xFF, nil},
		{"59 02 FF 01 02 03 50", "P0102-03 50 untested", 0xFF, nil},
		{"59 02 FF C1 40 87", "", 0xFF, pids.ErrRecord},
		{"59 42 33 FF 7E 04 01 71 00 2F", "", 0xFF, pids.ErrRecord},
		{"59 55 33 FF 04 02 04 20 00 2F", "", 0xFF, pids.ErrRecord},
		{"59 15 FF 04 20 00 2F", "P0420-00 2F current", 0xFF, nil},
		{"59 02 08 07 41 00 2F", "P0741-00 08 history", 0x08, nil},
		{"59 02 00 07 41 00 2F 40 35 11 00", "P0741-00 2F untested, C0035-11 00 untested", 0x00, nil},
		{"59 42 33 FF 7E 02 02 01 71 00 2F", "", 0xFF, ErrFormat},
		{"59 55 33 FF 02 04 20 00 2F", "", 0xFF, ErrFormat},
		{"59 55 33 FF 03 04 20 00 2F", "", 0xFF, ErrFormat},
		{"59 02 FF C1 40 87 2F C1 00", "U0140-87 2F current", 0xFF, pids.ErrRecord},
		{"59 02", "", 0, pids.ErrShort},
		{"59 03 01", "", 0, pids.ErrOther},
		{"43 00", "", 0, pids.ErrOther},
	} {
		codes, available, err := ParseStatusCodes(unhex(t, c.reply))
		var got []string
		for _, s := range codes {
			got = append(got, fmt.Sprintf("%s %02X %s", s, s.Bits, s.State()))
		}
		if strings.Join(got, ", ") != c.want || available != c.available || !errors.Is(err, c.err) {
			t.Errorf("%s: %q %02X, %v; want %q %02X, %v", c.reply, strings.Join(got, ", "), available, err, c.want, c.available, c.err)
		}
	}
	if codes, _, _ := ParseStatusCodes(unhex(t, "59 42 33 FF 7E 04 02 01 71 00 2F")); codes[0].Severity != 0x02 {
		t.Errorf("severity %02X, want 02: it stands first", codes[0].Severity)
	}
}

func TestParseCount(t *testing.T) {
	// The first is the example of ISO 14229-1 (from memory), the others are of
	// python-udsoncan's tests; format 02 is SAE J1939.
	for reply, want := range map[string]string{"59 01 2F 01 00 01": "2F 01 1", "59 01 FB 01 12 34": "FB 01 4660", "59 01 FF 02 00 03": "FF 02 3"} {
		a, f, n, err := ParseCount(unhex(t, reply))
		if got := fmt.Sprintf("%02X %02X %d", a, f, n); got != want || err != nil {
			t.Errorf("%s: %s, %v", reply, got, err)
		}
	}
	for reply, cause := range map[string]error{"59 01": pids.ErrShort, "59 01 FB 01 12": pids.ErrShort, "59 02 FF": pids.ErrOther, "": pids.ErrOther} {
		if _, _, _, err := ParseCount(unhex(t, reply)); !errors.Is(err, cause) {
			t.Errorf("%s: %v, want %v", reply, err, cause)
		}
	}
}

// Where 42 and 55 have the format (ISO 14229-1 as python-udsoncan reads it); the other lists have
// none.
func TestFormatOf(t *testing.T) {
	for reply, want := range map[string]int{
		"59 42 33 FF 7E 04 02 01 71 00 2F": 4, "59 42 33 FF 7E 02": 2, "59 55 33 FF 04": 4, "59 55 33 FF 03 01 71 00 2F": 3,
		"59 42 33 FF 7E": -1, "59 55 33 FF": -1, "59 02 FF 01 71 00 2F": -1, "59 42": -1, "59": -1, "": -1,
	} {
		format, ok := FormatOf(unhex(t, reply))
		if ok != (want >= 0) || ok && int(format) != want {
			t.Errorf("%s: %02X, %v; want %d", reply, format, ok, want)
		}
	}
}

func FuzzCodes(f *testing.F) {
	for _, s := range []string{"43 02 01 02 01 13", "59 02 7F 0A 9B 17 24", "59 42 33 FF 7E 04 02 01 71 00 2F",
		"59 04 04 20 00 2F 00 02 F4 0C 1A F8 F4 0D 50", "59 06 12 34 56 24 01 07 20"} {
		f.Add(unhex(f, s))
	}
	f.Add([]byte("YB3\x00\x00\x00\x7f\x00\x00\a\x01\x00\x00\x00")) // a mask of 00 makes no bit count, and the code is listed all the same
	f.Fuzz(func(t *testing.T, reply []byte) {
		before := string(reply)
		for _, can := range []bool{true, false} {
			if codes, _ := ParseCodes(reply, can); len(codes) > len(reply)/2 {
				t.Fatalf("%d codes in %d bytes", len(codes), len(reply))
			}
		}
		codes, available, _ := ParseStatusCodes(reply)
		for _, c := range codes {
			if available != 0 && c.Has(^Bits(available)) {
				t.Fatalf("status %02X beyond what is available, %02X", c.Bits, available)
			}
			if available == 0 && (c.State() != Untested || c.Unreported != allBits) { // left as it came, and nothing follows from it
				t.Fatalf("of a mask of 00: %v, unreported %02X", c.State(), c.Unreported)
			}
			if back, err := ParseCode(c.String()); err != nil || back != c.Code {
				t.Fatalf("%s reads back as %v, %v", c, back, err)
			}
			c.Text()
			c.Words()
		}
		_, _, _ = ParseSnapshots(reply)
		_, _, _ = ParseExtended(reply)
		_, _, _, _ = ParseCount(reply)
		if string(reply) != before {
			t.Fatal("the reply was changed")
		}
	})
}

func ExampleParseStatusCodes() {
	reply := []byte{0x59, 0x02, 0xFF, 0xC1, 0x40, 0x87, 0x28}
	codes, _, _ := ParseStatusCodes(reply)
	for _, c := range codes {
		text, _ := c.Text()
		fmt.Printf("%v %s: %s (%s)\n", c.Code, c.State(), text, c.Words())
	}
	// Output: U0140-87 history: lost communication with the body module; message missing (its last test passed, stored)
}

func unhex(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}
