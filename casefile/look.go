package casefile

import "fmt"

// LookKind is what was looked at.
type LookKind string

// The kinds of observations.
const (
	FluidLevel  LookKind = "fluid level"
	FluidColour LookKind = "fluid colour"
	FluidSmell  LookKind = "fluid smell"
	FluidDebris LookKind = "fluid debris"
	Tyres       LookKind = "tyres"
	Mounts      LookKind = "mounts"
	Leak        LookKind = "leak"
	Altered     LookKind = "altered"
	Missing     LookKind = "missing"
	Differs     LookKind = "left and right differ"
	OtherLook   LookKind = "other"
)

// LookRow is what judder says of one kind: what to look for, how to write it down, and whose figure
// it is.
type LookRow struct {
	Kind   LookKind
	Look   string
	Source string
}

// fluidPages are the pages behind what is said of fluid.
const fluidPages = "makers' service information: fluid checks of 2001 and 2012"

// LookKinds are the kinds in the order of the work: at the counter, under the bonnet, on the lift.
var LookKinds = []LookRow{
	{Tyres, "size, tread and pressure of each wheel, and how they differ", "a maker's road test notes, 2009: pressures are correct before any road test"},
	{FluidLevel, "level at the temperature that the maker's page gives; write down temperature, window and page", "makers differ: 50 to 60 °C and 71 to 93 °C are two windows in print"},
	{FluidColour, "as seen on white tissue: red, brown, black, pink and cloudy, foamy. Dark alone shows no fault", fluidPages},
	{FluidSmell, "fresh or burnt", fluidPages},
	{FluidDebris, "specks, metal or varnish on white tissue", fluidPages},
	{Mounts, "cracks over the surface, rubber off metal, split; how far the engine moves from rest", "a maker's engine mount inspection, 2009: more than 24 mm either way"},
	{Leak, "where it is wet, where the drop hangs, how fresh it looks", "common practice, no source"},
	{Altered, "a part that is not as delivered: tyres, wheels, engine, exhaust, hitch", "common practice, no source: a payer's inspector looks for it"},
	{Missing, "a part, cover, clip or seal that is not there", "common practice, no source"},
	{Differs, "what is not the same on the left and on the right", "common practice, no source"},
	{OtherLook, "anything else that is seen", "common practice, no source"},
}

// LookCautions come before any look at fluid or under the car.
var LookCautions = []string{
	"Transmission fluid is hot enough to burn, and a lifted car can fall. Fluid checks and looks underneath are for people who are trained and equipped for them.",
	"The maker's procedure comes first: temperature, selector, engine running or not. judder knows no maker's figure; type in the window from the maker's page.",
}

// InWindow reports whether a level was looked at inside the window of the maker's page; known is
// false where a figure is missing.
func (f *Fluid) InWindow() (in, known bool) {
	if f == nil || f.AtC == 0 || f.FromC == 0 && f.ToC == 0 {
		return false, false
	}
	return f.AtC >= f.FromC && f.AtC <= f.ToC, true
}

// Risky reports whether a look is at hot fluid or under a lifted car.
func (k LookKind) Risky() bool {
	switch k {
	case FluidLevel, FluidColour, FluidSmell, FluidDebris, Mounts, Leak:
		return true
	}
	return false
}

// Words are temperature and window, and whether one is inside the other.
func (f *Fluid) Words() string {
	window := fmt.Sprintf("window %.0f to %.0f °C", f.FromC, f.ToC)
	if f.Page != "" {
		window += " (" + f.Page + ")"
	}
	switch in, known := f.InWindow(); {
	case !known && f.AtC != 0:
		return fmt.Sprintf("fluid at %.0f °C; the maker's window was not written down", f.AtC)
	case !known:
		return "the fluid's temperature was not written down; " + window
	case in:
		return fmt.Sprintf("fluid at %.0f °C, inside the %s", f.AtC, window)
	}
	return fmt.Sprintf("fluid at %.0f °C, OUTSIDE the %s: the level does not count", f.AtC, window)
}
