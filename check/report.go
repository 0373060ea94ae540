// Package check is the report of a code check: what every ECU of a car keeps of its faults, as
// values and as JSON. Rooms below it read it, weigh it, compare it and put it into words.
package check

import (
	"encoding/json"
	"strings"
	"time"
)

// Report is what a code check found. It is written and read as JSON.
type Report struct {
	Stamp
	Time             time.Time `json:"time"`
	SameConnectionAs time.Time `json:"same_connection_as,omitzero"` // the time of the check before it, over the same connection
	VIN              string    `json:"vin"`                         // masked unless the user asked for it
	VINAsked         bool      `json:"vin_asked,omitempty"`
	VINNote          string    `json:"vin_note,omitempty"` // what the check digit shows
	ModelYear        int       `json:"model_year,omitempty"`
	Protocol         string    `json:"protocol"`
	OlderBus         bool      `json:"older_bus,omitempty"` // not CAN: no ECU has an address of its own
	Adapter          string    `json:"adapter"`
	Volts            float64   `json:"volts,omitempty"`      // at the diagnostic socket, as the adapter measures
	BrokeOff         *Note     `json:"broke_off,omitempty"`  // the step at which the check ended early, and why; nil for a whole one
	Nameless         bool      `json:"nameless,omitempty"`   // the adapter hides who answers: all ECUs are one in ECUs
	EngineRPM        *float64  `json:"engine_rpm,omitempty"` // when the check began; nil when it could not be read
	ECUs             []ECU     `json:"ecus"`
	Modules          []Asked   `json:"modules_asked,omitempty"`
	Swept            bool      `json:"swept,omitempty"` // all standard addresses were asked whether an ECU is there
	NotAnswering     []string  `json:"not_answering"`   // modules that were asked and were silent, as the user named them
	Triage           []Advice  `json:"triage"`
	Unread           []Note    `json:"unread,omitempty"` // what could not be read of any ECU
}

// Stamp is how a kept check shows what it is, and of which car without its number. Files of the first
// version have none.
type Stamp struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	Program string `json:"program,omitempty"` // that made the check

	VINDigest string `json:"vin_digest,omitempty"` // of a check that joins a case: KEY:DIGEST, equal for one car
}

// Format and Version are those of the checks that this program keeps. Version rises with every new
// key: a reader that left a key out would take a code for gone.
const (
	Format  = "judder check"
	Version = 1
)

// Asked is a further module that was to be asked.
type Asked struct {
	Name     string `json:"name"`
	Request  string `json:"request"`
	Reply    string `json:"reply"`
	Answered bool   `json:"answered"`

	Unreachable bool `json:"unreachable,omitempty"` // not by its own address on this bus, so not asked
}

// Called is the name of a module with its address.
func (a *Asked) Called() string {
	if a.Request == "" || strings.Contains(a.Request, a.Name) {
		return a.Name
	}
	return a.Name + " (" + a.Request + ")"
}

// Silent reports whether a module was asked and did not answer.
func (a *Asked) Silent() bool { return !a.Answered && !a.Unreachable }

// Advice is one line of triage: the rule, what it speaks of, and in words what to do, why, and
// whose rule it is.
type Advice struct {
	Rule   Rule     `json:"rule,omitempty"` // "" from older versions
	Codes  []string `json:"codes,omitempty"`
	ECUs   []string `json:"ecus,omitempty"` // reply headers
	Do     string   `json:"do"`
	Why    string   `json:"why"`
	Source string   `json:"source"` // a published source, or "common practice, no source"
	Hint   bool     `json:"hint,omitempty"`
}

// Rule is the short, stable id of a triage rule.
type Rule string

// MarshalJSON writes a report with the fields that every reader may count on, empty or not.
func (r Report) MarshalJSON() ([]byte, error) {
	type plain Report
	p := plain(r)
	p.Format, p.Version = Format, Version
	p.ECUs, p.NotAnswering, p.Triage = listed(r.ECUs), listed(r.NotAnswering), listed(r.Triage)
	return json.Marshal(p)
}

// listed is a list that JSON writes as one, and not as null.
func listed[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// Find is the ECU of a reply header; nil when it said nothing.
func (r *Report) Find(id string) *ECU {
	for i := range r.ECUs {
		if r.ECUs[i].ID == id {
			return &r.ECUs[i]
		}
	}
	return nil
}

// ECU finds or adds an ECU.
func (r *Report) ECU(id string) *ECU {
	if e := r.Find(id); e != nil {
		return e
	}
	r.ECUs = append(r.ECUs, ECU{ID: id, Codes: []Code{}, Lists: Lists{}})
	return &r.ECUs[len(r.ECUs)-1]
}
