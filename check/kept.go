package check

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/pids"
)

// Freeze is a freeze frame: the code that stored it and what was read then.
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
	Step   float64     `json:"step,omitempty"` // the finest difference, in the unit; 0 when not known
}

// Take adds the values of a parameter, decoded by the same table as live data.
func (f *Freeze) Take(part pids.Part) {
	values, err := part.PID.Append(nil, part.Data)
	if err != nil {
		return
	}
	for _, v := range values {
		f.Values = append(f.Values, Value{Signal: v.Field.Signal, Name: v.Field.Name, Value: v.Value, Unit: v.Field.Unit, Text: v.Field.Text(v.Value), Step: v.Field.Step()})
	}
}

// Verdict is how a test result ended.
type Verdict string

// The verdicts.
const (
	Passed    Verdict = "passed"
	Failed    Verdict = "failed"
	NotRun    Verdict = "not run"    // not since codes were cleared: no pass
	Unknown   Verdict = "unknown"    // its scaling is not known
	NotJudged Verdict = "not judged" // only the maker knows scaling and sign
)

// TestID is the number of a test: monitor and test on CAN, test and component on older buses.
type TestID struct{ Monitor, Test byte }

// MarshalText writes the number as "A2/0C".
func (t TestID) MarshalText() ([]byte, error) {
	return fmt.Appendf(nil, "%02X/%02X", t.Monitor, t.Test), nil
}

// UnmarshalText reads what MarshalText writes.
func (t *TestID) UnmarshalText(text []byte) error {
	monitor, test, _ := strings.Cut(string(text), "/")
	m, err := strconv.ParseUint(monitor, 16, 8)
	if err != nil {
		return fmt.Errorf("test %q: %w", text, err)
	}
	n, err := strconv.ParseUint(test, 16, 8)
	if err != nil {
		return fmt.Errorf("test %q: %w", text, err)
	}
	*t = TestID{byte(m), byte(n)}
	return nil
}

// TestResult is one result of service 06.
type TestResult struct {
	Monitor string  `json:"monitor"`
	ID      TestID  `json:"id"`
	Test    string  `json:"test,omitempty"`
	Value   float64 `json:"value"`
	Min     float64 `json:"min"`
	Max     float64 `json:"max"`
	Unit    string  `json:"unit,omitempty"`
	Outcome Verdict `json:"outcome"`
	Raw     string  `json:"raw"`
}

// Unlimited reports whether a result has no limits worth the name, as counts have none.
func (t *TestResult) Unlimited() bool { return t.Unit == "count" && t.Min == 0 && t.Max == 0xFFFF }

// Tests that count misfires (SAE J1979).
const (
	MisfireAverage = 0x0B // of the last ten drive cycles
	MisfireCurrent = 0x0C // this or the last drive cycle

	firstCylinder = 0xA2
	lastCylinder  = 0xAD
)

// Misfires is the cylinder whose misfires a result counts, from 1; 0 for any other result.
func (t *TestResult) Misfires() (cylinder int) {
	if t.Outcome == NotJudged || t.ID.Monitor < firstCylinder || t.ID.Monitor > lastCylinder {
		return 0
	}
	return int(t.ID.Monitor) - firstCylinder + 1
}

// Counted reports whether a result is a count of misfires in this or the last drive cycle, and
// not zero.
func (t *TestResult) Counted() bool {
	return t.Misfires() > 0 && t.ID.Test == MisfireCurrent && t.Value > 0
}
