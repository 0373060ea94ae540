package reply

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"github.com/judder-obd/judder/obd"
)

func unhexAll(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestCheckBytes(t *testing.T) {
	for _, c := range []struct {
		name, bytes string
		sum         func([]byte) byte
		want        byte
		source      string
	}{
		{"ISO 9141-2 request", "68 6A F1 01 0C", KLineSum, 0xD0, "ISO 9141-2 sum, computed here"},
		{"ISO 9141-2 reply", "48 6B 10 41 0C 1A F8", KLineSum, 0x22, "ISO 9141-2 sum, computed here"},
		{"ISO 14230 request", "C2 33 F1 01 0C", KLineSum, 0xF3, "ISO 14230-2 sum, computed here"},
		{"ISO 14230 reply", "84 F1 10 41 0C 1A F8", KLineSum, 0xE4, "ISO 14230-2 sum, computed here"},
		{"J1850 request", "68 6A F1 01 0C", J1850CRC, 0x8B, "SAE J1850 CRC, computed here"},
		{"J1850 reply", "48 6B 10 41 0C 1A F8", J1850CRC, 0xB2, "SAE J1850 CRC, computed here"},
		{"CRC-8/SAE-J1850", "31 32 33 34 35 36 37 38 39", J1850CRC, 0x4B, "catalogue of CRC algorithms, check of \"123456789\" (from memory)"},
	} {
		if got := c.sum(unhexAll(t, c.bytes)); got != c.want {
			t.Errorf("%s: %02X, want %02X (%s)", c.name, got, c.want, c.source)
		}
	}
}

// CRC by polynomial division, written out: the message with its first byte inverted, times
// x^8, modulo x^8+x^4+x^3+x^2+1, inverted (SAE J1850).
func TestJ1850CRC_AgainstLongDivision(t *testing.T) {
	for i := range 500 {
		msg := make([]byte, 3+i%9)
		for j := range msg {
			msg[j] = byte(i*31 + j*j*7 + i*j)
		}
		bits := make([]byte, 0, 8*len(msg)+8)
		for j, b := range append(bytes.Clone(msg), 0) {
			if j == 0 {
				b = ^b
			}
			for k := 7; k >= 0; k-- {
				bits = append(bits, b>>k&1)
			}
		}
		for j := 0; j+8 < len(bits); j++ {
			if bits[j] == 1 {
				for k, p := range []byte{1, 0, 0, 0, 1, 1, 1, 0, 1} {
					bits[j+k] ^= p
				}
			}
		}
		var rest byte
		for _, b := range bits[len(bits)-8:] {
			rest = rest<<1 | b
		}
		if got := J1850CRC(msg); got != ^rest {
			t.Fatalf("% X: %02X, by division %02X", msg, got, ^rest)
		}
	}
}

func TestParseFrame(t *testing.T) {
	for _, c := range []struct {
		form        obd.Form
		line        string
		id          uint32
		bytes       string // "": not whole
		whereItIsIn string
	}{
		{obd.FormCAN11, "7E8 04 41 0C 1A F8", 0x7E8, "04 41 0C 1A F8", "ISO 15765-4"},
		{obd.FormCAN11, "7E804410C1AF8AAAAAA", 0x7E8, "04 41 0C 1A F8 AA AA AA", "ISO 15765-4, padded to 8"},
		{obd.FormCAN29, "18 DA F1 10 04 41 0C 1A F8", 0x18DAF110, "04 41 0C 1A F8", "ISO 15765-4"},
		{obd.FormKLine, "48 6B 10 41 0C 1A F8 22", 0x10, "41 0C 1A F8", "ISO 9141-2"},
		{obd.FormKLine, "84 F1 10 41 0C 1A F8 E4", 0x10, "41 0C 1A F8", "ISO 14230-2"},
		{obd.FormKLine, "80 F1 10 04 41 0C 1A F8 E4", 0x10, "41 0C 1A F8", "ISO 14230-2, length in a byte of its own"},
		{obd.FormKLine, "48 6B 10 43 06", 0x10, "43", "ISO 9141-2, one byte"},
		{obd.FormKLine, "80 F1 10 01 43 C5", 0x10, "43", "ISO 14230-2, one byte"},
		{obd.FormKLine, "80 F1 10 00 81", 0, "", "ISO 14230-2, no byte"},
		{obd.FormCAN29, "18 DA F1 10", 0, "", "header alone"},
		{obd.FormCAN29, "18 DA F1 10 04 41 0C 1A F8 AA AA AA", 0x18DAF110, "04 41 0C 1A F8 AA AA AA", "eight bytes"},
		{obd.FormCAN29, "18 DA F1 10 04 41 0C 1A F8 AA AA AA AA", 0, "", "nine bytes on CAN"},
		{obd.FormKLine, "80 F1 10 05 41 0C 1A F8 E5", 0, "", "ISO 14230-2, another length"},
		{obd.FormJ1850, "48 6B 10 41 0C 1A F8 B2", 0x10, "41 0C 1A F8", "SAE J1850"},
		{obd.FormBare, "41 0C 1A F8", 0, "41 0C 1A F8", "ELM327 data sheet, headers off"},
		{obd.FormCAN11, "7E8", 0, "", "header alone"},
		{obd.FormCAN11, "7E8 04 41 0C 1A F8 AA AA AA AA", 0, "", "nine bytes on CAN"},
		{obd.FormCAN29, "18 DB 33 F1 02 01 0C", 0, "", "a request, not a reply"},
		{obd.FormCAN29, "18 DA F2 10 04 41 0C 1A F8", 0, "", "to another tester"},
		{obd.FormKLine, "48 6B 10 41 0C 1A F8 23", 0, "", "wrong sum"},
		{obd.FormKLine, "48 6B 10 41 0C 1A F8 B2", 0, "", "CRC where a sum belongs"},
		{obd.FormJ1850, "48 6B 10 41 0C 1A F8 22", 0, "", "sum where a CRC belongs"},
		{obd.FormKLine, "48 6B 10 C3", 0, "", "no data"},
		{obd.FormBare, "41 0C 1A F", 0, "", "half a byte"},
		{obd.FormBare, "41 0c 1a f8", 0, "", "lower case: no adapter of the family writes it"},
		{obd.FormBare, "", 0, "", "nothing"},
	} {
		for _, line := range []string{c.line, strings.ReplaceAll(c.line, " ", ""), c.line + " "} {
			before := []byte{0xEE}
			f, all, ok := parseFrame(before, c.form, line)
			if c.bytes == "" {
				if ok {
					t.Errorf("%q (%s): taken as % X from %X", line, c.whereItIsIn, f.bytes, f.id)
				}
				continue
			}
			if want := unhexAll(t, c.bytes); !ok || f.id != c.id || !bytes.Equal(f.bytes, want) || all[0] != 0xEE {
				t.Errorf("%q (%s): %v %X % X, want %X % X", line, c.whereItIsIn, ok, f.id, f.bytes, c.id, want)
			}
		}
	}
}

// A single wrong digit behind the header never gets past a check byte. (Sum: it moves by
// less than 256. CRC-8 with this polynomial: it sees every burst up to 8 bits.)
func TestParseFrame_EveryDigitChanged(t *testing.T) {
	for form, line := range map[obd.Form]string{obd.FormKLine: "486B10410C1AF822", obd.FormJ1850: "486B10410C1AF8B2"} {
		for i := range line {
			for _, c := range "0123456789ABCDEF" {
				changed := line[:i] + string(c) + line[i+1:]
				if _, _, ok := parseFrame(nil, form, changed); ok != (changed == line) {
					t.Errorf("form %d, %q: taken %v", form, changed, ok)
				}
			}
		}
	}
}

func TestInferForm(t *testing.T) {
	for _, c := range []struct {
		form  obd.Form
		lines []string
	}{
		{obd.FormCAN11, []string{"7E8 06 41 00 BE 3E B8 11"}},
		{obd.FormCAN11, []string{"SEARCHING...7E8064100BE3EB811"}},
		{obd.FormCAN11, []string{"7E8 06 41 00 BE 3E B8 11 AA"}},
		{obd.FormCAN29, []string{"SEARCHING...", "18 DA F1 10 06 41 00 BE 3E B8 11"}},
		{obd.FormKLine, []string{"BUS INIT: ...OK", fmt.Sprintf("48 6B 10 41 00 BE 3E B8 11 %02X", KLineSum(unhexAll(t, "486B104100BE3EB811")))}},
		{obd.FormJ1850, []string{fmt.Sprintf("486B104100BE3EB811%02X", J1850CRC(unhexAll(t, "486B104100BE3EB811")))}},
		{obd.FormBare, []string{"SEARCHING...", "41 00 BE 3E B8 11"}}, // ELM329 data sheet, p. 80
		{obd.FormUnknown, []string{"SEARCHING...", "UNABLE TO CONNECT"}},
		{obd.FormUnknown, []string{"NO DATA"}},
		{obd.FormUnknown, []string{"7E8 04 41 0C 1A F8"}},     // a late reply to something else
		{obd.FormCAN11, []string{"700 06 41 00 BE 3E B8 11"}}, // lowestReply
		{obd.FormUnknown, []string{"6FF 06 41 00 BE 3E B8 11"}},
		{obd.FormCAN11, []string{"7E8 10 0B 41 00 BE 3E B8 13"}}, // a first frame
		{obd.FormCAN11, []string{"7E8 02 41 00"}},
		{obd.FormUnknown, []string{"7E8 10"}},
		{obd.FormUnknown, []string{"7E8 01 41"}},
		{obd.FormUnknown, []string{"41"}},
		{obd.FormUnknown, nil},
	} {
		x := obd.Exchange{Request: "0100"}
		for _, l := range c.lines {
			x.Lines = append(x.Lines, obd.Line{Text: l})
		}
		if got := InferForm(&x); got != c.form {
			t.Errorf("%q: form %d, want %d", c.lines, got, c.form)
		}
	}
}

// A request of which nothing is repeated in its reply shows nothing of the layout.
func TestInferForm_RequestWithoutItems(t *testing.T) {
	for _, request := range []string{"03", "ATZ", ""} {
		x := exchangeOf(0, obd.FormUnknown, request, "7E8 02 43 00")
		if got := InferForm(&x); got != obd.FormUnknown {
			t.Errorf("%q: form %d", request, got)
		}
	}
}
