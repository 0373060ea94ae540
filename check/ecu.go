package check

import (
	"cmp"
	"encoding/json"
	"fmt"
	"strings"
)

// ECU is one control unit.
type ECU struct {
	ID           string       `json:"ecu"`  // reply header: 7E8, 18DAF110, or 10 on the older buses
	Name         string       `json:"name"` // its own, or the vehicle profile's
	Module       string       `json:"module,omitempty"`
	VIN          string       `json:"vin,omitempty"` // of a further module, masked like the car's
	Regulation   string       `json:"regulation,omitempty"`
	Calibrations []string     `json:"calibration_ids"`
	PartNumber   string       `json:"part_number,omitempty"` // spare part number (F187 of ISO 14229-1)
	CVNs         []string     `json:"calibration_verification_numbers"`
	Codes        []Code       `json:"codes"`
	Lists        Lists        `json:"code_lists,omitempty"`
	Lamp         *bool        `json:"lamp,omitempty"`
	CodesCounted int          `json:"codes_counted,omitempty"` // stored codes by the readiness reply
	Readiness    []Monitor    `json:"readiness,omitempty"`
	Cleared      *Cleared     `json:"since_cleared,omitempty"`
	OdometerKM   float64      `json:"odometer_km,omitempty"`
	Freezes      []Freeze     `json:"freeze_frames,omitempty"`
	FreezeState  Outcome      `json:"freeze_frame_state,omitzero"` // Read, or why there may be others
	Tests        []TestResult `json:"test_results,omitempty"`
	TestState    Note         `json:"test_result_state,omitzero"` // Read, or why there may be others
	Unread       []Note       `json:"unread,omitempty"`           // what this ECU did not report whole
}

// MarshalJSON writes an ECU with the fields that every reader may count on, empty or not.
func (e ECU) MarshalJSON() ([]byte, error) {
	type plain ECU
	p := plain(e)
	p.Calibrations, p.CVNs, p.Codes = listed(e.Calibrations), listed(e.CVNs), listed(e.Codes)
	return json.Marshal(p)
}

// Further reports whether an ECU is reached by its own address only. A user or a profile may
// also name one of the legislated ECUs, which clearing reaches.
func (e *ECU) Further() bool { return e.Module != "" && !e.Lists.Legislated() }

// NoName is what all ECUs together are called where the adapter hides who answers.
const NoName = "control units without names"

// Called is what a user calls the ECU: by its own name, or by its address.
func (e *ECU) Called() string { return cmp.Or(e.Module, e.Name, e.ID, NoName) }

// Label is the name of an ECU beside its address; "" when it has none.
func (e *ECU) Label() string {
	if name := e.Called(); name != e.ID {
		return name
	}
	return ""
}

// Missing reports whether an item of the ECU was not read whole.
func (e *ECU) Missing(item ItemKind) bool {
	for i := range e.Unread {
		if e.Unread[i].Item.Kind == item {
			return true
		}
	}
	return false
}

// TestsOpen counts the self-tests that are not complete.
func (e *ECU) TestsOpen() (n int) {
	for _, m := range e.Readiness {
		if !m.Complete {
			n++
		}
	}
	return n
}

// Monitor is one self-test of the readiness reply.
type Monitor struct {
	Name     string `json:"name"`
	Complete bool   `json:"complete"`
}

// Cleared is how long ago codes were cleared; nil fields are missing.
type Cleared struct {
	KM      *float64 `json:"km,omitempty"`
	Minutes *float64 `json:"minutes,omitempty"`
	WarmUps *float64 `json:"warm_ups,omitempty"`
}

// The largest values of the counts since clearing, where they stop (SAE J1979).
const (
	MostCleared = 65535 // km and minutes
	MostWarmUps = 255
)

// Text is how far and how long ago codes were cleared; "" when nothing was reported.
func (c *Cleared) Text() string {
	if c == nil {
		return ""
	}
	var parts []string
	add := func(v *float64, most float64, unit string) {
		if v != nil {
			parts = append(parts, AtLeast(*v, most)+" "+unit)
		}
	}
	add(c.KM, MostCleared, "km")
	add(c.Minutes, MostCleared, "min")
	add(c.WarmUps, MostWarmUps, "warm-ups")
	return strings.Join(parts, ", ")
}

// AtLeast writes a count that may have stopped at its largest value.
func AtLeast(v, most float64) string {
	if v >= most {
		return fmt.Sprintf("at least %.0f", v)
	}
	return fmt.Sprintf("%.0f", v)
}
