package vehicle

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/judder-obd/judder/pids"
)

// rawProfile is the file as it is written.
type rawProfile struct {
	Name    string `toml:"name"`
	Vehicle struct {
		Tyre       string    `toml:"tyre"`
		FinalDrive *float64  `toml:"final_drive"`
		Gears      []float64 `toml:"gears"`
		Cylinders  *int      `toml:"cylinders"`
	} `toml:"vehicle"`
	Parameter []rawParameter `toml:"parameter"`
	Module    []rawModule    `toml:"module"`
}

type rawParameter struct {
	Signal     string   `toml:"signal"`
	Name       string   `toml:"name"`
	Role       string   `toml:"role"`
	Module     string   `toml:"module"`
	Identifier string   `toml:"identifier"`
	FirstByte  int      `toml:"first_byte"`
	Bytes      int      `toml:"bytes"`
	Signed     bool     `toml:"signed"`
	Scale      *float64 `toml:"scale"`
	Offset     float64  `toml:"offset"`
	Unit       string   `toml:"unit"`
}

type rawModule struct {
	Name    string `toml:"name"`
	Request string `toml:"request"`
	Reply   string `toml:"reply"`
}

// fault is a value that cannot be, with its place: table, which of several, key.
type fault struct {
	table string
	index int
	key   string
	text  string
}

// rule is one line of the checks: what must hold, and the message when it does not.
type rule struct {
	key  string
	ok   bool
	text string
}

// firstBroken returns the first rule that does not hold.
func firstBroken(table string, index int, rules []rule) *fault {
	for _, r := range rules {
		if !r.ok {
			return &fault{table, index, r.key, r.text}
		}
	}
	return nil
}

// Limits of a vehicle: beyond what is built, so that only a slip of the hand is refused. No source.
const (
	maxFinalDrive = 12
	maxGears      = 12
	maxGearRatio  = 20
	minGearRatio  = 0.2
	maxCylinders  = 16
	maxText       = 40   // of names and units, in bytes
	maxFirstByte  = 4091 // a reply is at most 4095 bytes (ISO 15765-2), three before the data
)

// tyreSize is the size of a passenger-car tyre: width, height in percent, rim.
var tyreSize = regexp.MustCompile(`^(1[2-9]|2\d|3[0-9])5/[2-9][05](ZR|R)(1\d|2[0-6])$`)

var (
	shortName  = regexp.MustCompile(`^[A-Z][A-Z0-9_/]{0,15}$`)
	addressHex = regexp.MustCompile(`^([0-7][0-9A-F]{2}|[01][0-9A-F]{7})$`)
	identHex   = regexp.MustCompile(`^[0-9A-Fa-f]{4}$`)
)

// plainHex writes addresses and identifiers as the program has them: "0x7e1" as "7E1".
func (r *rawProfile) plainHex() {
	for i := range r.Parameter {
		p := &r.Parameter[i]
		p.Module, p.Identifier = plainHex(p.Module), plainHex(p.Identifier)
	}
	for i := range r.Module {
		m := &r.Module[i]
		m.Request, m.Reply = plainHex(m.Request), plainHex(m.Reply)
	}
}

func plainHex(s string) string { return strings.TrimPrefix(strings.ToUpper(s), "0X") }

func (r *rawProfile) check() *fault {
	v := &r.Vehicle
	if f := firstBroken("", 0, []rule{{"name", plainText(r.Name), "give the profile a name of 1 to 40 characters"}}); f != nil {
		return f
	}
	if f := firstBroken("vehicle", 0, []rule{
		{"tyre", v.Tyre == "" || tyreSize.MatchString(v.Tyre), `a tyre size is written like "225/65R17"`},
		{"final_drive", v.FinalDrive == nil || within(*v.FinalDrive, 1, maxFinalDrive), "the final drive is a ratio between 1 and 12"},
		{"gears", gearsFall(v.Gears), "gears are ratios between 0.2 and 20, first gear first, each smaller than the one before, 12 at most"},
		{"cylinders", v.Cylinders == nil || *v.Cylinders >= 1 && *v.Cylinders <= maxCylinders, "an engine has 1 to 16 cylinders"},
	}); f != nil {
		return f
	}
	taken, used := map[string]bool{}, map[string]bool{}
	for i := range r.Parameter {
		p := &r.Parameter[i]
		if f := firstBroken("parameter", i, p.rules(taken[p.Signal], used[p.Role])); f != nil {
			return f
		}
		taken[p.Signal], used[p.Role] = true, p.Role != ""
	}
	for i := range r.Module {
		m := &r.Module[i]
		if f := firstBroken("module", i, []rule{
			{"name", plainText(m.Name), "give the control unit a name of 1 to 40 characters"},
			{"request", addressHex.MatchString(m.Request), addressText},
			{"reply", addressHex.MatchString(m.Reply) && len(m.Reply) == len(m.Request), addressText + ", as long as the request address"},
			{"reply", m.Reply != m.Request, "a control unit answers from another address than it is asked at"},
			{"reply", !m.borrowed(), "7E8 to 7EF answer requests to 7E0 to 7E7 (ISO 15765-4)"},
		}); f != nil {
			return f
		}
	}
	return nil
}

// borrowed reports whether a module has a reply address of ISO 15765-4 but not the request
// address that belongs to it, 8 less.
func (m *rawModule) borrowed() bool {
	if len(m.Reply) != 3 || len(m.Request) != 3 || m.Reply < "7E8" || m.Reply > "7EF" {
		return false
	}
	const requests, replies = "01234567", "89ABCDEF"
	return m.Request[:2] != "7E" || strings.IndexByte(requests, m.Request[2]) != strings.IndexByte(replies, m.Reply[2])
}

const addressText = `an address is three hexadecimal digits up to "7FF", or eight up to "1FFFFFFF"`

func (p *rawParameter) rules(taken, used bool) []rule {
	_, _, standard := pids.About(pids.Signal(p.Signal))
	return []rule{
		{"signal", shortName.MatchString(p.Signal), "a short name is 1 to 16 capitals, digits or _, a capital first"},
		{"signal", !standard, "this short name belongs to a parameter of the standard; choose another"},
		{"signal", !taken, "another parameter has this short name already"},
		{"name", plainText(p.Name), "give the parameter a name of 1 to 40 characters"},
		{"role", slices.Contains(roles, Role(p.Role)), fmt.Sprintf("a role is one of %q, or left out", roles[1:])},
		{"role", !used, "another parameter has this role already"},
		{"module", addressHex.MatchString(p.Module), addressText},
		{"identifier", identHex.MatchString(p.Identifier), `an identifier is four hexadecimal digits, like "4D01"`},
		{"first_byte", p.FirstByte >= 0 && p.FirstByte <= maxFirstByte, "the first byte is counted from 0, up to 4091"},
		{"bytes", p.Bytes >= 1 && p.Bytes <= 4, "a parameter has 1 to 4 bytes"},
		{"scale", p.Scale != nil, "write the value of one step"},
		{"scale", p.Scale == nil || *p.Scale != 0 && finite(*p.Scale), "the value of one step is a number other than 0"},
		{"offset", finite(p.Offset), "the offset is a number"},
		{"unit", p.Unit == "" || plainText(p.Unit), "a unit is at most 40 characters"},
	}
}

// plainText reports whether s can be shown: not empty, not long, no control characters.
func plainText(s string) bool {
	for _, r := range s {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			return false
		}
	}
	return s != "" && len(s) <= maxText
}

func within(x, low, high float64) bool { return x >= low && x <= high }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func gearsFall(gears []float64) bool {
	for i, g := range gears {
		if !within(g, minGearRatio, maxGearRatio) || i > 0 && g >= gears[i-1] {
			return false
		}
	}
	return len(gears) <= maxGears
}

// profile turns a file that was checked into what the program uses.
func (r *rawProfile) profile() *Profile {
	p := &Profile{Name: r.Name, Driveline: Driveline{Tyre: r.Vehicle.Tyre, Gears: r.Vehicle.Gears}}
	if r.Vehicle.FinalDrive != nil {
		p.Driveline.FinalDrive = *r.Vehicle.FinalDrive
	}
	if r.Vehicle.Cylinders != nil {
		p.Driveline.Cylinders = *r.Vehicle.Cylinders
	}
	for i := range r.Parameter {
		p.Parameters = append(p.Parameters, r.Parameter[i].parameter())
	}
	for _, m := range r.Module {
		p.Modules = append(p.Modules, Module(m))
	}
	return p
}

func (p *rawParameter) parameter() Parameter {
	identifier, err := strconv.ParseUint(p.Identifier, 16, 16)
	if err != nil {
		panic("vehicle: identifier was not checked: " + err.Error())
	}
	f := pids.Field{
		Signal: pids.Signal(p.Signal), Name: p.Name, Unit: p.Unit, Byte: p.FirstByte, Bits: 8 * p.Bytes,
		Signed: p.Signed, Scale: *p.Scale, Per: 1, Offset: p.Offset,
	}
	low, high := 0., math.Exp2(float64(f.Bits))-1
	if f.Signed {
		low, high = -math.Exp2(float64(f.Bits-1)), math.Exp2(float64(f.Bits-1))-1
	}
	low, high = low*f.Scale+f.Offset, high*f.Scale+f.Offset
	f.Min, f.Max = min(low, high), max(low, high) // a negative scale turns them round
	return Parameter{Field: f, Role: Role(p.Role), Module: p.Module, Identifier: uint16(identifier)}
}
