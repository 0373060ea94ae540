// Package check is the standing check: everything the car's computers remember, read before
// anyone drives, put in the trade's order, and kept. It asks only what reads.
package check

import (
	"encoding/json"
	"slices"
	"time"

	"judder/pids"
)

// Report is what a standing check found. It is written and read as JSON.
type Report struct {
	Time         time.Time `json:"time"`
	VIN          string    `json:"vin"` // masked unless the user asked for it
	askedVIN     bool
	VINNote      string   `json:"vin_note,omitempty"` // what the check digit says
	ModelYear    int      `json:"model_year,omitempty"`
	Protocol     string   `json:"protocol"`
	Adapter      string   `json:"adapter"`
	Volts        float64  `json:"volts,omitempty"`      // at the diagnostic socket, as the adapter measures
	BrokeOff     string   `json:"broke_off,omitempty"`  // at what the check ended early, and why; "" for a whole one
	Nameless     bool     `json:"nameless,omitempty"`   // the adapter hides which computer speaks: all are one in ECUs
	EngineRPM    *float64 `json:"engine_rpm,omitempty"` // when the check began; nil when it could not be read
	ECUs         []ECU    `json:"ecus"`
	Modules      []Asked  `json:"modules_asked,omitempty"`
	Swept        bool     `json:"swept,omitempty"` // all standard addresses were asked whether somebody is there
	NotAnswering []string `json:"not_answering"`   // modules asked for and silent, as they were named
	Triage       []Advice `json:"triage"`
	Unread       []string `json:"unread,omitempty"` // what could not be read, and why
}

// Asked is a further computer that was to be asked.
type Asked struct {
	Name     string `json:"name"`
	Request  string `json:"request"`
	Reply    string `json:"reply"`
	Answered bool   `json:"answered"`

	Unreachable bool `json:"unreachable,omitempty"` // not by its own address on this bus, so not asked
}

// ECU is one computer.
type ECU struct {
	ID           string       `json:"ecu"`  // reply header: 7E8, 18DAF110, or 10 on the older buses
	Name         string       `json:"name"` // its own, or the vehicle profile's
	Module       string       `json:"module,omitempty"`
	VIN          string       `json:"vin,omitempty"` // of a further computer, masked like the car's
	Regulation   string       `json:"regulation,omitempty"`
	Calibrations []string     `json:"calibration_ids"`
	PartNumber   string       `json:"part_number,omitempty"` // spare part number (F187 of ISO 14229-1)
	CVNs         []string     `json:"calibration_verification_numbers"`
	Codes        []Code       `json:"codes"`
	Lists        Lists        `json:"code_lists,omitempty"`
	Lamp         *bool        `json:"lamp,omitempty"`
	CodesToldOf  int          `json:"codes_counted,omitempty"` // stored codes by the readiness reply
	repeated     int          // stored codes that one list told again
	Readiness    []Monitor    `json:"readiness,omitempty"`
	Cleared      *Cleared     `json:"since_cleared,omitempty"`
	OdometerKM   float64      `json:"odometer_km,omitempty"`
	Freezes      []Freeze     `json:"freeze_frames,omitempty"`
	FreezeState  string       `json:"freeze_frame_state,omitempty"` // ListRead, or why there may be others
	Tests        []TestResult `json:"test_results,omitempty"`
	TestState    string       `json:"test_result_state,omitempty"` // ListRead, or why there may be others
	Unread       []string     `json:"unread,omitempty"`            // what this computer did not tell whole, and why
}

// Lists tell of each list of codes ("stored", "pending", "permanent", and "by status" of a
// further computer) whether it was read: ListRead, NotSupported, or why it was not.
type Lists map[string]string

// What became of a list of codes, when there is nothing to repair in it.
const (
	ListRead     = "read"
	NotSupported = "not supported"
	NotTold      = "no answer; whether such a list is kept is not known" // of permanent codes: service 0A came late
)

// refusedBegins what became of a list that a computer refused to tell.
const refusedBegins = "refused: "

// unread are the lists that were to be read and were not, in order of their names. A computer
// that was asked for the lists of SAE J1979 lacks none of them.
func (l Lists) unread() (out []string) {
	for name, became := range l {
		if became != ListRead && became != NotSupported && became != NotTold {
			out = append(out, name)
		}
	}
	for _, must := range codeLists {
		if _, told := l[must.state]; !told && l.legislated() {
			out = append(out, must.state)
		}
	}
	slices.Sort(out)
	return out
}

// legislated tells the lists of a computer that was asked for those of SAE J1979.
func (l Lists) legislated() bool {
	return slices.ContainsFunc(codeLists, func(c codeList) bool { _, told := l[c.state]; return told })
}

// Code is a trouble code as one service told it.
type Code struct {
	Code    string `json:"code"`
	State   string `json:"state"`   // stored, pending, permanent; by status: current, pending, history
	Service string `json:"service"` // 03, 07, 0A, 19
	Status  string `json:"status,omitempty"`
	Words   string `json:"status_words,omitempty"`
	Text    string `json:"text,omitempty"` // "" when no source tells
	Source  string `json:"source,omitempty"`

	Snapshot string `json:"snapshot_raw,omitempty"` // records of service 19 04, hex; their lengths are the maker's
	Extended string `json:"extended_raw,omitempty"` // records of service 19 06, hex
}

// Monitor is one self-test of the readiness reply.
type Monitor struct {
	Name     string `json:"name"`
	Complete bool   `json:"complete"`
}

// Cleared is what the car tells of the time since codes were cleared; nil fields are not told.
type Cleared struct {
	KM      *float64 `json:"km,omitempty"`
	Minutes *float64 `json:"minutes,omitempty"`
	WarmUps *float64 `json:"warm_ups,omitempty"`
}

// Freeze is the freeze frame: the code that stored it and what was read then.
type Freeze struct {
	Code   string  `json:"code"`
	Record int     `json:"record,omitempty"` // of service 19 04: one code may have several
	Values []Value `json:"values"`
	Cut    bool    `json:"not_whole,omitempty"` // there is more of it that could not be read
}

// Value is one decoded parameter.
type Value struct {
	Signal pids.Signal `json:"signal"`
	Name   string      `json:"name"`
	Value  float64     `json:"value"`
	Unit   string      `json:"unit,omitempty"`
	Text   string      `json:"text,omitempty"` // of a state

	step float64 // in which it is told, in the unit; 0 when not known
}

// TestResult is one result of service 06.
type TestResult struct {
	Monitor string  `json:"monitor"`
	ID      string  `json:"id"` // monitor and test, hex
	Test    string  `json:"test,omitempty"`
	Value   float64 `json:"value"`
	Min     float64 `json:"min"`
	Max     float64 `json:"max"`
	Unit    string  `json:"unit,omitempty"`
	Outcome string  `json:"outcome"` // passed, failed, not run, unknown, not judged
	Raw     string  `json:"raw"`
}

// Advice is one line of triage: what to do, why, and whose rule it is.
type Advice struct {
	Do     string `json:"do"`
	Why    string `json:"why"`
	Source string `json:"source"` // a published source, or "common practice, no source"
	Hint   bool   `json:"hint,omitempty"`
}

// MarshalJSON writes a computer with the fields that every reader may count on, empty or not.
func (e ECU) MarshalJSON() ([]byte, error) {
	type plain ECU
	p := plain(e)
	p.Calibrations, p.CVNs, p.Codes = listed(e.Calibrations), listed(e.CVNs), listed(e.Codes)
	return json.Marshal(p)
}

// MarshalJSON writes a report with the fields that every reader may count on, empty or not.
func (r Report) MarshalJSON() ([]byte, error) {
	type plain Report
	p := plain(r)
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

// ecu finds or adds a computer.
func (r *Report) ecu(id string) *ECU {
	for i := range r.ECUs {
		if r.ECUs[i].ID == id {
			return &r.ECUs[i]
		}
	}
	r.ECUs = append(r.ECUs, ECU{ID: id, Codes: []Code{}, Lists: Lists{}})
	return &r.ECUs[len(r.ECUs)-1]
}
