package identity

import (
	"fmt"
	"strings"
	"testing"
)

// Replies are laid out by SAE J1979 (49 02), SAE J1979-2 (62 F8 02) and ISO 14229-1 (62 F1 90,
// and 59 04 with identifiers); the number is ours.
func TestHideVINs(t *testing.T) {
	const vin, hidden = "0TEST11A0K0000002", "0TEST11A0K0******"
	for _, c := range []struct {
		name, reply string
		known       []string
		found       string
	}{
		{"J1979", "\x49\x02\x01" + vin, nil, vin},
		{"no count", "\x49\x02" + vin, nil, vin},
		{"padded", "\x49\x02\x01\x00\x00\x00" + vin, nil, vin},
		{"J1979-2", "\x62\xF8\x02" + vin + "\x00", nil, vin},
		{"ISO 14229-1", "\x62\xF1\x90" + vin, nil, vin},
		{"within a snapshot", "\x59\x04\xC1\x40\x87\x2F\x01\x02\xF1\x90" + vin + "\x40\x01\x7C", nil, vin},
		{"without its identifier", "\x59\x06\xC1\x40\x87\x2F\x01" + vin + "\x2C", []string{vin}, vin},
		{"twice", "\x59\x04\xC1\x40\x87\x2F\x01\x01\xF1\x90" + vin + "\x02\x01\xF1\x90" + vin, nil, vin},
		{"by an identifier of the maker", "\x62\xF1\xA0" + vin, nil, vin},
		{"none", "\x49\x04\x01SIMCAR-ENG-0001\x00", []string{vin}, ""},
	} {
		b := []byte(c.reply)
		found := strings.Join(HideVINs(b, c.known...), "")
		if string(b) != strings.ReplaceAll(c.reply, vin, hidden) || found != c.found {
			t.Errorf("%s: %q, found %q", c.name, b, found)
		}
	}
	for _, front := range []string{"\x49\x02\x01  ", "\x59\x04\xC1\x40\x87\x2F\x01\x02\xF1\x90", "\x62\xF1\x90"} {
		b := []byte(front + vin[:3] + "\x00\x00\x00\x00\x00\x00\x00" + vin[10:]) // the frame between was lost
		if found := HideVINs(b); found != nil || string(b[len(front)+10:]) != "0******" {
			t.Errorf("%q, %q", b, found)
		}
	}
	cut := []byte("\x49\x02\x01" + vin[:3] + "\x00\x00\x00\x00\x00\x00\x00" + vin[10:]) // the frame between was lost
	if found := HideVINs(cut); found != nil || string(cut[13:]) != "0******" {
		t.Errorf("%q, %q", cut, found)
	}
	if b := []byte("\x59\x06\x55" + vin + "\x55"); HideVINs(b) != nil || strings.Contains(string(b), vin[12:]) {
		t.Errorf("among other bytes: %q", b)
	}
	if b := []byte("SIMCAR-ENGINE-00012345678"); HideVINs(b) != nil || strings.Contains(string(b), "*") {
		t.Errorf("a calibration: %q", b)
	}
	for _, other := range []string{"12345678901234567", "\x49\x02", "\x62\xF1\x90"} { // no letter; nothing behind
		if b := []byte(other); HideVINs(b) != nil || string(b) != other {
			t.Errorf("%q became %q", other, b)
		}
	}
	if b := []byte("\x62\xF1\x900TEST1 A0K0 ~\x0002Z"); HideVINs(b) != nil || string(b[3:]) != "0TEST1 A0K0 *\x00***" { // damaged
		t.Errorf("%q", b)
	}
	if b := []byte("0000002"); HideVINs(b, vin[1:]) != nil || string(b) != "0000002" { // known, but no whole number
		t.Errorf("%q", b)
	}
	if b := []byte("\x62\xF1\x90OTEST\x00\x00\x00\x00\x00\x00" + vin[11:]); HideVINs(b) != nil || string(b[14:]) != "******" { // breaks the rules, and a frame is lost
		t.Errorf("%q", b)
	}
	if b := []byte("0000002"); HideVINs(b, vin) != nil || string(b) != "0******" {
		t.Errorf("%q", b)
	}
}

func FuzzHideVINs(f *testing.F) {
	f.Add([]byte("\x62\xF1\x900TEST11A0K0000002"))
	f.Fuzz(func(t *testing.T, reply []byte) {
		b := append([]byte(nil), reply...)
		for _, vin := range HideVINs(b) {
			if strings.Contains(string(b), vin[11:]) {
				t.Errorf("%q still in %q", vin, b)
			}
		}
		if len(b) != len(reply) {
			t.Error("another length")
		}
	})
}

func ExampleHideVINs() {
	reply := []byte("\x62\xF1\x900TEST11A0K0000002")
	HideVINs(reply)
	fmt.Printf("%X %s\n", reply[:3], reply[3:])
	// Output: 62F190 0TEST11A0K0******
}

// A number that breaks the rules for numbers (an O, small letters) is the car's all the same, and
// hidden where another reply has it.
func TestHideVINs_IllFormed(t *testing.T) {
	for _, vin := range []string{"0TESTO1A0K0000002", "0test11a0k0000002"} {
		found := HideVINs([]byte("\x49\x02\x01" + vin))
		if len(found) != 1 || found[0] != vin {
			t.Errorf("%s: found %q", vin, found)
		}
		b := []byte("\x62\xF1\x87" + vin)
		if HideVINs(b, vin); strings.Contains(string(b), vin[11:]) {
			t.Errorf("%q", b)
		}
	}
	for _, vin := range []string{"0TESTO9A0K000000Z", "9TESTZ1A0k00000Oz"} {
		if found := HideVINs([]byte("\x62\xF1\x90" + vin)); len(found) != 1 || found[0] != vin {
			t.Errorf("%s: found %q", vin, found)
		}
		if found := HideVINs([]byte("\x59\xF1\x90" + vin)); found != nil { // no reply with an identifier there
			t.Errorf("%s: found %q", vin, found)
		}
	}
	if found := HideVINs([]byte("\x49\x02\x01\x01\x02\x03 not a number \x05")); found != nil {
		t.Errorf("%q", found)
	}
}
