package check

import (
	"encoding/json"
	"fmt"
	"iter"
	"strconv"

	"github.com/judder-obd/judder/pids/dtc"
)

// Code is a trouble code as one service reported it.
type Code struct {
	Code    string
	State   dtc.State
	Service string      // 03, 07, 0A, 19
	Status  *dtc.Status // of service 19; nil without
	Text    string      // "" when no source has one
	Source  string

	Naming   Naming
	Format   byte   // of a code of another format (ISO 14229-1)
	Snapshot string // records of service 19 04, hex; their lengths are the maker's
	Extended string // records of service 19 06, hex
}

// Naming is how sure the name of a code is.
type Naming string

// The namings; "" is that of SAE J2012.
const (
	NamedByMaker  Naming = "format 01"      // a reading by SAE J2012 of bytes whose meaning the maker chooses
	NamedUnknown  Naming = "format unknown" // the same: the ECU did not report its format
	NotNamedJ2012 Naming = "raw"            // in another format: the bytes as they came
)

// codeJSON is a code as JSON has it.
type codeJSON struct {
	Code       string    `json:"code"`
	State      dtc.State `json:"state"`
	Service    string    `json:"service"`
	Status     string    `json:"status,omitempty"`
	Unreported string    `json:"status_unreported,omitempty"` // bits that mean nothing
	Words      string    `json:"status_words,omitempty"`
	Text       string    `json:"text,omitempty"`
	Source     string    `json:"source,omitempty"`
	Naming     Naming    `json:"naming,omitempty"`
	Format     byte      `json:"format,omitempty"`
	Snapshot   string    `json:"snapshot_raw,omitempty"`
	Extended   string    `json:"extended_raw,omitempty"`
}

// MarshalJSON writes the status as bits and as words.
func (c Code) MarshalJSON() ([]byte, error) {
	out := codeJSON{Code: c.Code, State: c.State, Service: c.Service, Text: c.Text, Source: c.Source,
		Naming: c.Naming, Format: c.Format, Snapshot: c.Snapshot, Extended: c.Extended}
	if s := c.Status; s != nil {
		out.Status, out.Words = fmt.Sprintf("%02X", s.Bits), s.Words()
		if s.Unreported != 0 {
			out.Unreported = fmt.Sprintf("%02X", s.Unreported)
		}
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads a code. Older versions wrote the words of a status and not which bits the
// ECU keeps: these are the ones that give the same words.
func (c *Code) UnmarshalJSON(text []byte) error {
	var in codeJSON
	if err := strictly(text, &in); err != nil {
		return err
	}
	*c = Code{Code: in.Code, State: in.State, Service: in.Service, Text: in.Text, Source: in.Source,
		Naming: in.Naming, Format: in.Format, Snapshot: in.Snapshot, Extended: in.Extended}
	if in.Status == "" {
		return nil
	}
	bits, err := strconv.ParseUint(in.Status, 16, 8)
	if err != nil {
		return fmt.Errorf("status of %s: %w", in.Code, err)
	}
	c.Status = &dtc.Status{Bits: dtc.Bits(bits)}
	unreported, err := strconv.ParseUint(in.Unreported, 16, 8)
	if err == nil {
		c.Status.Unreported = dtc.Bits(unreported)
		return nil
	}
	for mask := range 256 {
		if s := (&dtc.Status{Bits: dtc.Bits(bits), Unreported: dtc.Bits(mask)}); s.OlderWords() == in.Words {
			c.Status = s
			break
		}
	}
	return nil
}

// Words is the status in words; "" without one.
func (c *Code) Words() string {
	if c.Status == nil {
		return ""
	}
	return c.Status.Words()
}

// Unclear reports whether a stored code may be of now or of long ago: its ECU keeps no bit for
// a failing test.
func (c *Code) Unclear() bool { return c.State == dtc.History && c.Status != nil && c.Status.Unclear() }

// Past reports whether the ECU calls a code one of the past.
func (c *Code) Past() bool { return c.State == dtc.History && !c.Unclear() }

// EachCode goes through all codes with the ECU that reports them.
func (r *Report) EachCode() iter.Seq2[*ECU, *Code] {
	return func(yield func(*ECU, *Code) bool) {
		for i := range r.ECUs {
			for k := range r.ECUs[i].Codes {
				if !yield(&r.ECUs[i], &r.ECUs[i].Codes[k]) {
					return
				}
			}
		}
	}
}
