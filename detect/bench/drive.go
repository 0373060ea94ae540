package bench

import (
	"fmt"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids"
)

// Asking is how engine speed is read.
type Asking struct {
	Name      string  // as -rate takes it
	Rate      float64 // readings a second
	UnevenPct float64 // intervals spread by up to ± this share, drawn evenly, as the live schedule asks below 7 a second
	Renewed   float64 // s, the ECU has a new value only so often; 0: as the seed has it
}

// Askings are the rows of the table.
var Askings = []Asking{
	{Name: "3", Rate: 3}, {Name: "3u", Rate: 3, UnevenPct: 50}, {Name: "5", Rate: 5}, {Name: "5u", Rate: 5, UnevenPct: 50},
	{Name: "10", Rate: 10}, {Name: "20", Rate: 20}, {Name: "60", Rate: 60}, {Name: "60r", Rate: 60, Renewed: 0.1},
}

// String names the asking for people.
func (a Asking) String() string {
	text := fmt.Sprintf("%.0f/s", a.Rate)
	if a.UnevenPct > 0 {
		text += fmt.Sprintf(" ±%.0f %%", a.UnevenPct)
	}
	if a.Renewed > 0 {
		text += fmt.Sprintf(" renewed %.0f ms", 1000*a.Renewed)
	}
	return text
}

// Role is what a drive is there for.
type Role int

// The roles.
const (
	Shaking  Role = iota // bursts that must be found
	Brief                // bursts under three cycles: counted apart
	Always               // shakes in every cruise
	Fine                 // nothing is wrong with the car
	Alike                // no shudder, but a fault that looks like it
	NotTied              // engine speed is not tied to road speed
	Stopping             // engine stops; nothing is wrong beside them
)

// Span is a stretch of truth.
type Span struct {
	Start, End float64 // s
	SwingRPM   float64
	Hz         float64
	Shudder    bool // else a look-alike
	Counts     bool // shudder at steady demand
	Name       string
}

// Cycles returns how often a burst swings.
func (s Span) Cycles() float64 { return s.Hz * (s.End - s.Start) }

// Drive is one drive with its truth.
type Drive struct {
	Scene
	Asking   Asking
	Samples  []pids.Sample
	Length   float64
	Spans    []Span
	Stops    []detect.Stop
	Testable float64 // s of steady cruise in which shudder would have shown, by the truth
	Passes   int     // stretches of it
}

// enough reports whether a drive allows "no shudder" to be said: 40 s testable in three passes.
func (d *Drive) enough() bool { return d.Testable >= 40 && d.Passes >= 3 }

// settled is how much of a stretch of cruise passes before shudder would show, s.
const settled = 3.0

// pass adds a stretch of steady cruise to what was testable.
func (d *Drive) pass(seconds float64) {
	if seconds > settled+2 {
		d.Testable += seconds - settled
		d.Passes++
	}
}
