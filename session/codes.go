package session

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/dtc"
)

// Code is a trouble code that a code check inside the drive read: once for each ECU that has it.
type Code struct {
	At   time.Duration
	ECU  string // as the header of its reply shows it; "" when not known
	Code string // as "P0304", or with its failure type "P0304-00"
}

// Misfire reports whether the code is one of misfire: P0300, and P0301 to P0312 for each cylinder
// (SAE J2012).
func (c *Code) Misfire() bool {
	return len(c.Code) >= 5 && c.Code[:5] >= "P0300" && c.Code[:5] <= "P0312"
}

// codeWatch reads the codes out of the replies of a code check, so that a recording of any age has
// them.
type codeWatch struct {
	all  []Code
	read bool // some ECU gave its stored codes whole
}

// The services whose replies hold codes: stored, pending and permanent codes (SAE J1979), and codes by
// status (ISO 14229-1, as SAE J1979-2 uses it).
const (
	storedReply    = 0x43
	pendingReply   = 0x47
	permanentReply = 0x4A
	statusReply    = 0x59
)

// take takes an exchange of a code check.
func (w *codeWatch) take(x *obd.Exchange, d *reply.Decoded) {
	can := x.Form == obd.FormCAN11 || x.Form == obd.FormCAN29
	for i := range d.Messages {
		m := &d.Messages[i]
		if len(m.Data) == 0 {
			continue
		}
		switch m.Data[0] {
		case storedReply, pendingReply, permanentReply:
			codes, err := dtc.ParseCodes(m.Data, can) // what cannot be read is in the report of the check
			w.read = w.read || err == nil && m.Data[0] == storedReply
			for _, c := range codes {
				w.add(m, c.String())
			}
		case statusReply:
			codes, _, err := dtc.ParseStatusCodes(m.Data)
			w.read = w.read || err == nil
			for _, c := range codes {
				if c.Failed() {
					w.add(m, c.String())
				}
			}
		}
	}
}

func (w *codeWatch) add(m *reply.Message, code string) {
	for i := range w.all {
		if w.all[i].Code == code && w.all[i].ECU == m.ECU {
			return
		}
	}
	w.all = append(w.all, Code{m.At, m.ECU, code})
}
