package identity

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids"
)

// The ELM327 data sheet p. 42 prints this VIN on CAN and on the older buses.
func TestParseVIN(t *testing.T) {
	const want = "1D4GP00R55B123456"
	body := " 31 44 34 47 50 30 30 52 35 35 42 31 32 33 34 35 36"
	for _, reply := range []string{"49 02 01" + body, "62 F1 90" + body, "62 F8 02" + body, "62 F8 02 01" + body, "49 02 00 00 00" + body, "49 02 01" + body + " 00 00 00", "62 F8 02 01" + body + " FF"} {
		if got, err := ParseVIN(unhex(t, reply)); got != want || err != nil {
			t.Errorf("%s: %q, %v", reply, got, err)
		}
	}
	lines := [][]byte{}
	for _, l := range []string{"49 02 01 00 00 00 31", "49 02 03 30 30 52 35", "49 02 02 44 34 47 50", "49 02 04 35 42 31 32", "49 02 05 33 34 35 36"} {
		lines = append(lines, unhex(t, l))
	}
	joined, err := JoinLegacy(lines)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := ParseVIN(joined); got != want || err != nil {
		t.Errorf("%q, %v", got, err)
	}
	for _, bad := range []struct {
		lines [][]byte
		err   error
	}{{nil, pids.ErrShort}, {[][]byte{{0x49, 0x02}}, pids.ErrShort}, {[][]byte{lines[0], {0x49, 0x02, 0x02}}, pids.ErrShort}, {lines[1:], pids.ErrShort}, {[][]byte{lines[0], lines[0]}, pids.ErrTwice}, {[][]byte{lines[0], {0x49, 0x04, 2, 0}}, pids.ErrOther}, {[][]byte{lines[0], lines[1][:3]}, pids.ErrShort}, {[][]byte{lines[0], lines[1]}, pids.ErrShort}} {
		if _, err := JoinLegacy(bad.lines); !errors.Is(err, bad.err) {
			t.Errorf("%v: %v, want %v", bad.lines, err, bad.err)
		}
	}
	for reply, cause := range map[string]error{"62 F1 91 41": pids.ErrOther, "49 02 01 31": pids.ErrShort, "": pids.ErrOther, "49 02": pids.ErrShort, "62 F1 90": pids.ErrShort, "62 F8 02": pids.ErrShort, "62 F1 90" + body + " 37": pids.ErrLong, "62 F1 90" + body[:48] + " 00": pids.ErrShort} {
		if _, err := ParseVIN(unhex(t, reply)); !errors.Is(err, cause) {
			t.Errorf("%s: %v, want %v", reply, err, cause)
		}
	}
}

// Check digits computed by the rules of 49 CFR 565.15; 1D4G… is the ELM327 data sheet's
// example (p. 42), whose digit does not fit, 1G4A… the regulation's own sample.
func TestCheckVIN(t *testing.T) {
	for vin, want := range map[string]VINReport{
		"11111111111111111": {true, true, 2001, ""},
		"0ZSTA0004A0000000": {true, true, 1980, ""},
		"9ZYXA00Z9A0000009": {true, true, 1980, ""},
		"0TESTAA00A0000006": {true, true, 2010, ""},
		"0TESTAA0XA0000000": {true, true, 2010, ""},
		"0TEST11A0K0000002": {true, true, 1989, ""},
		"1D4GP00R55B123456": {true, false, 2005, "North America"},
		"1G4AH59H45G118341": {true, true, 2005, ""},
		"00000000000000000": {true, true, 0, "position 10"},
		"00000000X00000005": {true, true, 0, "position 10"},
	} {
		got := CheckVIN(vin)
		if got.Well != want.Well || got.CheckDigit != want.CheckDigit || got.ModelYear != want.ModelYear || !strings.Contains(got.Why, want.Why) || want.Why == "" && got.Why != "" {
			t.Errorf("%s: %+v, want %+v", vin, got, want)
		}
	}
	for vin, why := range map[string]string{"": "0 characters", "0TEST11A0K000000": "16 characters", "0TEST11A0KO000002": "position 11"} {
		if got := CheckVIN(vin); got.Well || !strings.Contains(got.Why, why) {
			t.Errorf("%q: %+v", vin, got)
		}
	}
	for vin, want := range map[string]string{"0TEST11A0K0000002": "0TEST11A0K0******", "123": "***", "": "", "äöüäöüä": "ä******"} {
		if got := MaskVIN(vin); got != want {
			t.Errorf("%q masked: %q", vin, got)
		}
	}
}

// Two ECUs' calibration ids as the data sheet of the ELM329 prints them, cut at their
// length; verification numbers and a name by the layout of SAE J1979.
func TestInformation(t *testing.T) {
	got, err := ParseCalibrationIDs(unhex(t, "49 04 01 35 36 30 32 38 39 34 39 41 43 00 00 00 00 00 00"))
	if err != nil || fmt.Sprint(got) != "[56028949AC]" {
		t.Errorf("%v, %v", got, err)
	}
	if got, err := ParseCVNs(unhex(t, "49 06 02 DE AD BE EF 00 C0 FF EE")); err != nil || fmt.Sprint(got) != "[DEADBEEF 00C0FFEE]" {
		t.Errorf("%v, %v", got, err)
	}
	name := "49 0A 01 45 43 4D 00 2D 45 6E 67 69 6E 65 43 6F 6E 74 72 6F 6C 00 00"
	if got, err := ParseECUName(unhex(t, name)); err != nil || got != "ECM-EngineControl" {
		t.Errorf("%q, %v", got, err)
	}
	for half, want := range map[string]string{ // only the acronym; only the text
		"49 0A 01 45 43 4D 00 2D 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00": "ECM",
		"49 0A 01 00 00 00 00 2D 45 6E 67 69 6E 65 43 6F 6E 74 72 6F 6C 00 00": "EngineControl",
	} {
		if got, err := ParseECUName(unhex(t, half)); err != nil || got != want {
			t.Errorf("%q, %v; want %s", got, err, want)
		}
	}
	if got, err := ParseCVNs(unhex(t, "62 F8 06 DE AD BE EF")); err != nil || fmt.Sprint(got) != "[DEADBEEF]" {
		t.Errorf("%v, %v", got, err)
	}
	if got, err := ParseCalibrationIDs(unhex(t, "49 04 01 20 00 41 42 07 43 00 00 00 00 00 00 00 FF 00 20")); err != nil || fmt.Sprint(got) != "[AB?C]" {
		t.Errorf("%q, %v", got, err)
	}
	for reply, want := range map[string]struct {
		got   string
		cause error
	}{
		"49 06 01 DE AD":             {"[]", pids.ErrShort},
		"49 06 02 DE AD BE EF":       {"[DEADBEEF]", pids.ErrShort}, // the count promises two
		"49 06 02 DE AD BE EF C0 FF": {"[]", pids.ErrShort},         // not 02DEADBE
		"49 06 01 DE AD BE":          {"[]", pids.ErrShort},         // not 01DEADBE
		"62 F8 06 DE AD BE EF C0 FF": {"[]", pids.ErrRecord},
		"62 F8 06":                   {"[]", pids.ErrShort},
		"62 F8 06 01":                {"[]", pids.ErrShort}, // a count and nothing
		"62 F8 06 02 DE AD BE EF":    {"[DEADBEEF]", pids.ErrShort},
		"49 04 01 DE AD":             {"[]", pids.ErrOther},
	} {
		if got, err := ParseCVNs(unhex(t, reply)); fmt.Sprint(got) != want.got || !errors.Is(err, want.cause) {
			t.Errorf("%s: %v, %v; want %s, %v", reply, got, err, want.got, want.cause)
		}
	}
	// Blanks and tildes are characters of a text, zeros in front are padding.
	if got, err := ParseCalibrationIDs(unhex(t, "49 04 02 00 00 7E 41 20 42 7E 43 7E 00 00 00 00 00 00 00 41 42 43 44 45 46 47 48 49 4A 4B 4C 4D 4E 4F 7E")); err != nil || fmt.Sprint(got) != "[~A B~C~ ABCDEFGHIJKLMNO~]" {
		t.Errorf("%q, %v", got, err)
	}
	// A text whose last character is missing is not one that begins with the count.
	if got, err := ParseCalibrationIDs(unhex(t, "49 04 01 35 36 30 32 38 39 34 39 41 43 00 00 00 00 00")); got != nil || !errors.Is(err, pids.ErrShort) {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := ParseCalibrationIDs(unhex(t, "62 F8 04 01 35 36 30 32 38 39 34 39 41 43 00 00 00 00 00")); got != nil || !errors.Is(err, pids.ErrShort) {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := ParseECUName(unhex(t, name[:len(name)-3])); got != "" || !errors.Is(err, pids.ErrShort) {
		t.Errorf("%q, %v", got, err)
	}
}

// The byte that cannot be.
func TestInformation_Place(t *testing.T) {
	cvns := func(b []byte) error { _, err := ParseCVNs(b); return err }
	vin := func(b []byte) error { _, err := ParseVIN(b); return err }
	for _, c := range []struct {
		read  func([]byte) error
		reply string
		at    int
	}{
		{cvns, "62 F8 06 DE AD BE EF C0 FF", 7}, // of the second number two bytes
		{cvns, "49 06 02 DE AD BE EF", 7},
		{vin, "62 F1 90 31 44 34 47 50 30 30 52 35 35 42 31 32 33 34 35 36 37", 20}, // an eighteenth character
		{vin, "49 04", 0},
	} {
		var where *pids.DataError
		if err := c.read(unhex(t, c.reply)); !errors.As(err, &where) || where.Offset != c.at {
			t.Errorf("%s: %v, want byte %d", c.reply, err, c.at)
		}
	}
}

// The count that CAN cars send, made for the numbered lines of the older buses: of calibration
// ids 16 bytes, of verification numbers 4 bytes each (SAE J1979).
func TestJoinLegacy_Count(t *testing.T) {
	for _, c := range []struct {
		lines []string
		want  string
	}{
		{[]string{"49 04 01 35 36 30 32", "49 04 02 38 39 34 39", "49 04 03 41 43 00 00", "49 04 04 00 00 00 00"}, "49040135363032383934394143000000000000"},
		{[]string{"49 06 02 00 C0 FF EE", "49 06 01 DE AD BE EF"}, "490602DEADBEEF00C0FFEE"},
		{[]string{"49 0A 01 45 43 4D 00"}, "490A0145434D00"},
	} {
		var lines [][]byte
		for _, l := range c.lines {
			lines = append(lines, unhex(t, l))
		}
		if got, err := JoinLegacy(lines); fmt.Sprintf("%X", got) != c.want || err != nil {
			t.Errorf("%q: %X, %v; want %s", c.lines, got, err, c.want)
		}
	}
	var where *pids.DataError
	_, err := JoinLegacy([][]byte{unhex(t, "49 06 01 DE AD BE EF"), unhex(t, "49 06 01 DE AD BE EF")})
	if !errors.As(err, &where) || where.Offset != 2 || where.What != "line 2 of 2" {
		t.Errorf("%v, want byte 2 of the second line", err)
	}
}

func FuzzInformation(f *testing.F) {
	for _, s := range []string{"49 02 01 31 44 34 47 50 30 30 52 35 35 42 31 32 33 34 35 36", "49 04 01 35 36", "62 F8 06 DE AD BE EF"} {
		f.Add(unhex(f, s))
	}
	f.Add([]byte("I\x02000000000000\u0372000")) // a character of two bytes made a VIN of another length
	f.Fuzz(func(t *testing.T, reply []byte) {
		before := string(reply)
		vin, err := ParseVIN(reply)
		if err == nil && (len(vin) != vinLength || strings.ContainsFunc(vin, func(r rune) bool { return r < ' ' || r > '~' })) {
			t.Fatalf("VIN %q", vin)
		}
		CheckVIN(vin)
		_, _ = ParseCalibrationIDs(reply)
		_, _ = ParseCVNs(reply)
		_, _ = ParseECUName(reply)
		fuzzLines(t, reply)
		if string(reply) != before {
			t.Fatal("the reply was changed")
		}
	})
}

// fuzzLines cuts the reply into lines of seven bytes: joined, they hold what was given, with a count.
func fuzzLines(t *testing.T, reply []byte) {
	var lines [][]byte
	for rest := reply; len(rest) > 0; rest = rest[min(7, len(rest)):] {
		lines = append(lines, rest[:min(7, len(rest))])
	}
	joined, err := JoinLegacy(lines)
	if err == nil && len(joined) != len(reply)-3*len(lines)+3 {
		t.Fatalf("%d bytes of %d lines, %d bytes", len(joined), len(lines), len(reply))
	}
}

func ExampleCheckVIN() {
	const vin = "0TESTAA00A0000006" // of nobody's car; its check digit is computed
	r := CheckVIN(vin)
	fmt.Println(MaskVIN(vin), r.CheckDigit, r.ModelYear)
	// Output: 0TESTAA00A0****** true 2010
}

func unhex(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}
