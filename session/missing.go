package session

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/refusal"
)

// Missing is a parameter that the vehicle profile names and the car does not give.
type Missing struct {
	Signal     pids.Signal
	Name       string
	Module     string // request address, as in the profile
	Identifier uint16
	Asked      int           // times in the whole drive
	Since      time.Duration // of the first request in vain
	Way        MissingWay
	Refusal    byte // negative response code of ISO 14229-1; 0 where it was not refused
}

// MissingWay is in what way a parameter is missing.
type MissingWay uint8

// The ways.
const (
	notMissing MissingWay = iota
	MissingRefused
	MissingSilent
	MissingStopped  // it answered before
	MissingMisfits  // it answers something else than the profile describes
	MissingNotAsked // too short a drive
	MissingNoWay    // nothing can be asked of one ECU alone
)

var missingWords = [...]struct{ why, todo string }{
	MissingRefused:  {"the car refused it", "check module and identifier in the profile"},
	MissingSilent:   {"never answered", "check module and identifier in the profile"},
	MissingStopped:  {"no longer answered", "the car may need another state for it"},
	MissingMisfits:  {"the answer does not fit the profile", "check first_byte and bytes in the profile"},
	MissingNotAsked: {"not asked before the drive ended", "drive longer"},
	MissingNoWay:    {"not possible with this bus or adapter", "another adapter may do it, where the bus is CAN"},
}

// outOfRange is the refusal of an identifier that the ECU does not have (ISO 14229-1).
const outOfRange = 0x31

// Words are why it was not read, and what can be done about that.
func (m *Missing) Words() (why, todo string) {
	w := missingWords[min(int(m.Way), len(missingWords)-1)]
	if m.Way != MissingRefused {
		return w.why, w.todo
	}
	means, do := refusal.Parts(m.Refusal)
	if m.Refusal == outOfRange || do == "" {
		do = w.todo
	}
	return fmt.Sprintf("%s (7F 22 %02X)", w.why, m.Refusal), means + "; " + do
}
