package reply

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/vehicle"
)

func profileOf(t *testing.T, text string) *vehicle.Profile {
	t.Helper()
	p, err := vehicle.ParseProfile("test.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Parameters of a profile: the module that is asked replies at its own address, by the profile or
// eight above the request (ISO 15765-4).
func TestDecoder_Profile(t *testing.T) {
	d := Decoder{Profile: profileOf(t, `name = "practice car"
[[parameter]]
signal = "SLIP"
name = "converter slip"
module = "7E1"
identifier = "4D01"
bytes = 2
signed = true
unit = "rpm"
scale = 0.5
[[parameter]]
signal = "WANTED"
name = "wanted slip"
module = "7E1"
identifier = "4D01"
first_byte = 2
bytes = 1
unit = "rpm"
scale = 10
[[parameter]]
signal = "WHEEL"
name = "a wheel"
module = "6F0"
identifier = "4D01"
bytes = 1
unit = "km/h"
scale = 1
[[module]]
name = "brakes"
request = "6F0"
reply = "5A8"
`)}
	for i, c := range []struct {
		line string
		want []string
	}{
		{"7E9 06 62 4D 01 FF F6 03", []string{"7E9 SLIP -5.00", "7E9 WANTED 30.00"}},
		{"7E9 05 62 4D 01 00 0A", []string{"7E9 SLIP 5.00"}},
		{"7E9 03 62 4D 01", nil},
		{"7E8 05 62 4D 01 00 0A", nil},
		{"7E9 05 62 4D 02 00 0A", nil},
		{"7E9 05 62 4E 01 00 0A", nil},
		{"5A8 04 62 4D 01 21", []string{"5A8 WHEEL 33.00"}},
		{"6F8 04 62 4D 01 21", nil},
	} {
		if got := readings(&d, exchangeOf(time.Duration(i)*time.Second, obd.FormCAN11, "224D01", c.line)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.line, got, c.want)
		}
	}
	if got := readings(&Decoder{}, exchangeOf(0, obd.FormCAN11, "224D01", "7E9 06 62 4D 01 FF F6 03")); got != nil {
		t.Errorf("without a profile: %q", got)
	}
}

// Replies on 11 bits come from 700 on, and not from where ISO 15765-4 has requests go out.
func TestDecoder_ReplyAddresses(t *testing.T) {
	for id, want := range map[string]int{"6FF": 0, "700": 1, "7DF": 1, "7E0": 0, "7E7": 0, "7E8": 1, "7FF": 1} {
		var d Decoder
		x := exchangeOf(0, obd.FormCAN11, "010C", id+" 04 41 0C 1A F8", id+" 04 41 0C <DATA ERROR")
		if got := d.Decode(&x); len(got.Messages) != want || got.Damaged != 2-want || got.Nameless != 2-2*want {
			t.Errorf("%s: %+v", id, got)
		}
	}
	for name, want := range map[string]int{"608": 1, "60": 0, "0608": 0, "6O8": 0, "": 0} {
		var d Decoder
		for range 3 {
			d.Expect(name)
		}
		x := exchangeOf(0, obd.FormCAN11, "010C", "608 04 41 0C 1A F8")
		if got := d.Decode(&x); len(got.Messages) != want || len(d.addresses.low) != want {
			t.Errorf("expecting %q: %+v, %v", name, got, d.addresses.low)
		}
	}
}

// 41, or 62 F4 after SAE J1979-2, and at least a byte of data.
func TestParameterData(t *testing.T) {
	for reply, want := range map[string]string{
		"410C1AF8": "0C1AF8", "410C": "0C", "41": "", "": "", "62F40C1AF8": "0C1AF8", "62F40C": "0C", "62F4": "", "62F50C": "", "420C": "", "7F0112": "",
	} {
		if got := ParameterData(unhexAll(t, reply)); obd.Hex(got...) != want || (got == nil) != (want == "") {
			t.Errorf("%s: % X, want %s", reply, got, want)
		}
	}
}
