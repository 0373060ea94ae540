package vehicle

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode"
)

// practiceCar is a vehicle of our own.
const practiceCar = `name = "practice car"
[vehicle]
tyre = "225/65R17"
final_drive = 3.73
gears = [4.58, 2.96, 1.91, 1.45, 1.0, 0.75]
cylinders = 4
[[parameter]]
signal = "SLIP" # of our own choice
name = "converter slip"
role = "slip"
module = "7E1"
identifier = "4D01"
first_byte = 0
bytes = 2
signed = true
scale = 0.25
offset = 0
unit = "rpm"
[[parameter]]
signal = "TFT"
name = "fluid temperature"
role = "fluid temperature"
module = "18DA18F1"
identifier = "4d02"
first_byte = 3
bytes = 1
scale = 1
offset = -40
unit = "°C"
[[module]]
name = "brakes"
request = "760"
reply = "768"
`

func TestParseProfile(t *testing.T) {
	p, err := ParseProfile("car.toml", []byte(practiceCar))
	if err != nil {
		t.Fatal(err)
	}
	if p.Name != "practice car" || !reflect.DeepEqual(p.Driveline, Driveline{"225/65R17", 3.73, []float64{4.58, 2.96, 1.91, 1.45, 1, 0.75}, 4}) {
		t.Errorf("got %+v", p)
	}
	if len(p.Modules) != 1 || p.Modules[0] != (Module{"brakes", "760", "768"}) {
		t.Errorf("modules %+v", p.Modules)
	}
	if len(p.Parameters) != 2 {
		t.Fatalf("parameters %+v", p.Parameters)
	}
	slip, fluid := &p.Parameters[0], &p.Parameters[1]
	if slip.Role != RoleSlip || slip.Module != "7E1" || slip.Identifier != 0x4D01 || fluid.Identifier != 0x4D02 {
		t.Errorf("parameters %+v", p.Parameters)
	}
	// Values computed here: −4·0.25 = −1 rpm; 130 − 40 = 90 °C.
	if v, ok := slip.Decode([]byte{0xFF, 0xFC}); !ok || v != -1 {
		t.Errorf("slip = %v, %v; want -1", v, ok)
	}
	if v, ok := fluid.Decode([]byte{1, 2, 3, 130}); !ok || v != 90 {
		t.Errorf("fluid = %v, %v; want 90", v, ok)
	}
	if v, ok := fluid.Decode([]byte{1, 2, 3}); ok {
		t.Errorf("fluid from data that end before it = %v", v)
	}
	if slip.Min != -8192 || slip.Max != 8191.75 {
		t.Errorf("slip from %v to %v", slip.Min, slip.Max)
	}
	if fluid.Min != -40 || fluid.Max != 215 { // one byte less 40, as J1979 has temperatures
		t.Errorf("fluid from %v to %v", fluid.Min, fluid.Max)
	}
}

func TestParseProfile_LeastThatWillDo(t *testing.T) {
	p, err := ParseProfile("car.toml", []byte(`name = "x"`))
	if err != nil || p.Name != "x" || len(p.Parameters) != 0 {
		t.Errorf("got %+v, %v", p, err)
	}
}

// What is just allowed: 4095 bytes are the longest reply (ISO 15765-2), and 7E8 to 7EF answer 7E0
// to 7E7 (ISO 15765-4); the other limits are our own.
func TestParseProfile_Limits(t *testing.T) {
	for _, c := range [][2]string{
		{`name = "practice car"`, `name = "1234567890123456789012345678901234567890"`},
		{`cylinders = 4`, `cylinders = 1`}, {`cylinders = 4`, `cylinders = 16`},
		{`final_drive = 3.73`, `final_drive = 1.0`}, {`final_drive = 3.73`, `final_drive = 12.0`},
		{`gears = [4.58, 2.96, 1.91, 1.45, 1.0, 0.75]`, `gears = [20.0, 0.2]`},
		{`gears = [4.58, 2.96, 1.91, 1.45, 1.0, 0.75]`, `gears = [12.0, 11.0, 10.0, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]`},
		{`first_byte = 3`, `first_byte = 4091`},
		{`bytes = 2`, `bytes = 4`}, {`bytes = 2`, `bytes = 1`},
		{"request = \"760\"\nreply = \"768\"", "request = \"7E0\"\nreply = \"7E8\""}, {"request = \"760\"\nreply = \"768\"", "request = \"7E7\"\nreply = \"7EF\""},
		{"reply = \"768\"", "reply = \"7E7\""}, {"reply = \"768\"", "reply = \"7F0\""},
	} {
		if strings.Count(practiceCar, c[0]) != 1 {
			t.Fatalf("%q is not once in the profile", c[0])
		}
		if _, err := ParseProfile("car.toml", []byte(strings.Replace(practiceCar, c[0], c[1], 1))); err != nil {
			t.Errorf("%s: %v", c[1], err)
		}
	}
}

// TestParseProfile_Faults changes one line of a good profile at a time; want is where the
// fault must be shown.
func TestParseProfile_Faults(t *testing.T) {
	for _, v := range []struct {
		from, to     string
		line, column int
		text         string
	}{
		{`scale = 0.25`, `scal = 0.25`, 16, 1, "no such key: scal; [[parameter]] has signal, name, role, module, identifier, first_byte, bytes, signed, scale, offset and unit"},
		{`tyre = `, `tire = `, 3, 1, "no such key: tire; [vehicle] has tyre, final_drive, gears and cylinders"},
		{`reply = "768"`, `answer = "768"`, 33, 1, "no such key: answer; [[module]] has name, request and reply"},
		{`[[module]]`, `[[modul]]`, 30, 3, "no such table or key: modul; a profile has name, [vehicle], [[parameter]] and [[module]]"},
		{`scale = 0.25`, `scale = "big"`, 16, 9, "a number"},
		{`first_byte = 3`, `first_byte = 1.5`, 25, 14, "a whole number"},
		{`name = "practice car"`, `name = 3`, 1, 8, "text in quotes"},
		{`signed = true`, `signed = 1`, 15, 10, "true or false"},
		{`gears = [4.58, 2.96, 1.91, 1.45, 1.0, 0.75]`, `gears = 4.58`, 5, 9, "a list"},
		{"[vehicle]\n", "vehicle = 3\n", 2, 11, "a table"},
		{`scale = 0.25`, `scale = 0.25.1`, 16, 0, ""},
		{`scale = 0.25`, `scale = 0`, 16, 9, "other than 0"},
		{`scale = 0.25`, `scale = nan`, 16, 9, "other than 0"},
		{"scale = 0.25\n", "", 7, 1, "scale is missing: write the value of one step"},
		{"module = \"7E1\"\n", "", 7, 1, "module is missing: an address is"},
		{"bytes = 1\n", "", 19, 1, "bytes is missing: a parameter has"},
		{`offset = -40`, `offset = inf`, 28, 10, "number"},
		{`name = "practice car"`, `name = ""`, 1, 8, "name"},
		{`name = "practice car"`, `name = "a\u001b[2J"`, 1, 8, "name"},
		{`225/65R17`, `225/65`, 3, 8, "tyre"},
		{`final_drive = 3.73`, `final_drive = 0`, 4, 15, "final drive"},
		{`1.45, 1.0`, `1.0, 1.45`, 5, 9, "gears"},
		{`1.45, 1.0`, `1.45, 1.45`, 5, 9, "gears"},
		{`gears = [4.58`, `gears = [20.1`, 5, 9, "gears"},
		{`gears = [4.58, 2.96, 1.91, 1.45, 1.0, 0.75]`, `gears = [13.0, 12.0, 11.0, 10.0, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]`, 5, 9, "gears"},
		{`cylinders = 4`, `cylinders = 0`, 6, 13, "cylinders"},
		{`cylinders = 4`, `cylinders = 40`, 6, 13, "cylinders"},
		{`"SLIP" #`, `"slip" #`, 8, 10, "capitals"},
		{`"SLIP" #`, `"RPM" #`, 8, 10, "standard"},
		{`signal = "TFT"`, `signal = "SLIP"`, 20, 10, "already"},
		{`role = "fluid temperature"`, `role = "slip"`, 22, 8, "already"},
		{`role = "fluid temperature"`, `role = "warmth"`, 22, 8, "one of"},
		{`module = "7E1"`, `module = "8E1"`, 11, 10, "address"},
		{`"18DA18F1"`, `"28DA18F1"`, 23, 10, "address"},
		{`"4D01"`, `"4D1"`, 12, 14, "identifier"},
		{`first_byte = 3`, `first_byte = -1`, 25, 14, "first byte"},
		{`bytes = 2`, `bytes = 5`, 14, 9, "bytes"},
		{`"°C"`, `"\u0007"`, 29, 8, "unit"},
		{`reply = "768"`, `reply = "760"`, 33, 9, "another address"},
		{`reply = "768"`, `reply = "18DAF128"`, 33, 9, "as long"},
		{`reply = "768"`, `reply = "7E8"`, 33, 9, "7E0 to 7E7"},
		{`reply = "768"`, `reply = "7EF"`, 33, 9, "7E0 to 7E7"},
		{"request = \"760\"\nreply = \"768\"", "request = \"7E0\"\nreply = \"7E9\"", 33, 9, "7E0 to 7E7"},
		{"[[module]]\nname = \"brakes\"\n", "  [[module]]\n", 30, 3, "name is missing"},
	} {
		if strings.Count(practiceCar, v.from) != 1 {
			t.Fatalf("%q is not once in the profile", v.from)
		}
		p, err := ParseProfile("car.toml", []byte(strings.Replace(practiceCar, v.from, v.to, 1)))
		var fault *ProfileError
		if !errors.As(err, &fault) || p != nil {
			t.Errorf("%s: accepted, or %v", v.to, err)
			continue
		}
		if fault.Line != v.line || v.column != 0 && fault.Column != v.column || !strings.Contains(fault.Text, v.text) {
			t.Errorf("%s: %v\nwant line %d column %d, %q", v.to, err, v.line, v.column, v.text)
		}
		lines := strings.Split(err.Error(), "\n")
		if len(lines) != 3 || strings.IndexByte(lines[2], '^') != fault.Column+1 {
			t.Errorf("%s: no caret below the fault:\n%v", v.to, err)
		}
	}
}

func TestLoadProfile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "car.toml")
	if err := os.WriteFile(file, []byte(practiceCar), 0o600); err != nil {
		t.Fatal(err)
	}
	if p, err := LoadProfile(file); err != nil || p.Name != "practice car" {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestLoadProfile_NoFile(t *testing.T) {
	if _, err := LoadProfile(filepath.Join(t.TempDir(), "none.toml")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v; want fs.ErrNotExist", err)
	}
}

func FuzzParseProfile(f *testing.F) {
	f.Add(practiceCar)
	f.Add("name = \"x\"\n[[parameter]]\nsignal = \"A\"\r\n")
	f.Add("name=1\x1b[2J")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ParseProfile("f", []byte(text))
		if err == nil {
			for i := range p.Parameters {
				p.Parameters[i].Decode([]byte{1, 2, 3, 4, 5, 6, 7, 8})
			}
			return
		}
		var fault *ProfileError
		if !errors.As(err, &fault) || fault.Line < 1 || fault.Column < 1 {
			t.Fatalf("%q: %v", text, err)
		}
		shown := strings.ReplaceAll(err.Error(), "\n", "")
		if strings.ContainsFunc(shown, unicode.IsControl) {
			t.Fatalf("control character in %q", shown)
		}
	})
}

// Hexadecimal is taken as people write it.
func TestParseProfile_Hexadecimal(t *testing.T) {
	text := strings.NewReplacer(`"7E1"`, `"0x7e1"`, `"760"`, `"0X760"`, `"4D01"`, `"0x4d01"`).Replace(practiceCar)
	p, err := ParseProfile("car.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if q := p.Parameters[0]; q.Module != "7E1" || q.Identifier != 0x4D01 || p.Modules[0].Request != "760" {
		t.Errorf("%+v, %+v", q, p.Modules)
	}
}
