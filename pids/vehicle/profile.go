// Package vehicle loads and checks a vehicle profile: what the user knows of one kind of
// vehicle beyond the standard.
package vehicle

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"os"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"github.com/judder-obd/judder/pids"
)

// Profile is what the user knows of one kind of vehicle beyond the standard: its
// driveline, the maker's own parameters that are read with service $22, and further
// modules. It is a TOML file:
//
//	name = "practice car"
//	[vehicle]
//	tyre = "225/65R17"
//	final_drive = 3.73
//	gears = [4.58, 2.96, 1.91, 1.45, 1.0, 0.75]
//	cylinders = 4
//	[[parameter]]
//	signal = "SLIP"        # a short name that you choose
//	name = "converter slip"
//	role = "slip"          # may be left out
//	module = "7E1"         # request address, in hexadecimal
//	identifier = "4D01"    # asked with service 22, in hexadecimal
//	first_byte = 0         # in the data after the identifier
//	bytes = 2
//	signed = true
//	scale = 0.25
//	offset = 0
//	unit = "rpm"
//	[[module]]             # further modules, for the code check
//	name = "brakes"
//	request = "760"
//	reply = "768"
type Profile struct {
	Name       string
	Driveline  Driveline
	Parameters []Parameter
	Modules    []Module
}

// Driveline is what the shudder rules need of engine, gearbox and wheels. What is not known is zero.
type Driveline struct {
	Tyre       string    // size as on its wall, "225/65R17"; "" when not known
	FinalDrive float64   // ratio of the final drive
	Gears      []float64 // ratio of each gear, first gear first
	Cylinders  int
}

// Role is what judder may use a parameter for.
type Role string

// The roles. A parameter without a role is shown and recorded only.
const (
	NoRole           Role = ""
	RoleSlip         Role = "slip"              // converter slip, rpm
	RoleWantedSlip   Role = "wanted slip"       // slip the controller aims at, rpm
	RoleTurbineSpeed Role = "turbine speed"     // rpm
	RoleFluidTemp    Role = "fluid temperature" // transmission fluid, °C
	RoleClutchState  Role = "clutch state"      // of the converter clutch
	RoleGear         Role = "gear"
)

var roles = []Role{NoRole, RoleSlip, RoleWantedSlip, RoleTurbineSpeed, RoleFluidTemp, RoleClutchState, RoleGear}

// Parameter is one of the maker's own parameters. Its Field decodes the data that follow
// the identifier in the reply.
type Parameter struct {
	pids.Field
	Role       Role
	Module     string // request address: three hexadecimal digits, or eight with 29 bits
	Identifier uint16
}

// Module is a further ECU on the bus.
type Module struct {
	Name           string
	Request, Reply string // addresses: three hexadecimal digits, or eight with 29 bits
}

// LoadProfile reads a profile from a file. A profile with any fault is refused: the error
// is a *ProfileError, or one of package os.
func LoadProfile(path string) (*Profile, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("vehicle profile: %w", err)
	}
	return ParseProfile(path, text)
}

// ParseProfile reads a profile from text; file is its name, for errors. A profile with
// any fault is refused: the error is a *ProfileError.
func ParseProfile(file string, text []byte) (*Profile, error) {
	var raw rawProfile
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&raw)
	if err != nil {
		return nil, fromTOML(file, text, err)
	}
	raw.plainHex()
	if f := raw.check(); f != nil {
		line, column, written := position(text, f.table, f.index, f.key)
		if !written {
			f.text = f.key + " is missing: " + f.text
		}
		return nil, newProfileError(file, text, line, column, f.text)
	}
	return raw.profile(), nil
}

// fromTOML takes place and text out of the library's errors.
func fromTOML(file string, text []byte, err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		first := &unknown.Errors[0]
		line, column := first.Position()
		return newProfileError(file, text, line, column, noSuchKey(first.Key()))
	}
	var fault *toml.DecodeError
	if errors.As(err, &fault) {
		line, column := fault.Position()
		what := strings.TrimPrefix(fault.Error(), "toml: ")
		if m := otherKind.FindStringSubmatch(what); m != nil {
			what = fmt.Sprintf("%s belongs here, and this is a TOML %s", cmp.Or(kinds[m[2]], "a list"), m[1])
		}
		return newProfileError(file, text, line, column, what)
	}
	return newProfileError(file, text, 1, 1, err.Error())
}

// otherKind takes apart the library's words for a value of another kind: what it is, and the type
// of Go that it should have.
var otherKind = regexp.MustCompile(`^cannot decode TOML (.+?) into .* of type (\w*)`)

// kinds are the types of a profile's values in words.
var kinds = map[string]string{"string": "text in quotes", "int": "a whole number", "float64": "a number", "bool": "true or false", "struct": "a table"}
