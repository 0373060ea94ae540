package check

import (
	"cmp"
	"fmt"
	"slices"

	"judder/obd"
	"judder/pids"
	"judder/pids/dtc"
)

// codeList is one list of codes: its name, which is also the state of its codes, and the
// requests for it.
type codeList struct {
	state     string
	service   byte
	successor string // "": told with the list before
}

// codeLists are the services of SAE J1979 that list codes, and what SAE J1979-2 asks in
// their place (ISO 14229-1 service 19: emissions group 33, status, severity classes A to C).
// There stored and pending codes are asked for at once: a reply does not say which mask it
// answers, and one that comes late would pass for the other list.
var codeLists = []codeList{
	{"stored", 0x03, "1942330C1E"},
	{"pending", 0x07, ""},
	{"permanent", 0x0A, "195533"},
}

func (c *reader) codes() error {
	for _, l := range codeLists {
		var err error
		c.must = l.state != "permanent" // service 0A came late
		switch {
		case c.successor && l.successor == "": // told with the list before
		case c.successor:
			err = c.successorCodes(l.state, l.successor)
		default:
			err = c.each(l.state+" codes", obd.Request(l.service), codesOf, func(e *ECU, data []byte) error {
				codes, err := dtc.ParseCodes(data, c.can)
				for _, k := range codes {
					if !e.keep(newCode(k, l.state, l.service)) && l.state == "stored" {
						e.repeated++
					}
				}
				return err
			})
		}
		c.must = false
		if err != nil {
			return err
		}
		if few := c.fewer(); few != "" && l.state == "permanent" {
			c.became[""] = NotTold
		} else if few != "" {
			c.became[""] = few
			c.note("", l.state+" codes", few)
		}
		c.ended = append(c.ended, endedList{l.state, c.became})
		c.fill()
	}
	return nil
}

// fill says of every computer whether it told each list that was asked for so far, also of one
// that was heard for the first time later on.
func (c *reader) fill() {
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if e.further() {
			continue
		}
		for _, l := range c.ended {
			if _, said := e.Lists[l.state]; !said {
				c.endList(e, l)
			}
		}
		if e.FreezeState == "" && c.freezes != nil {
			e.FreezeState = c.noFreeze(c.freezes[""])
		}
	}
}

const silentOnCAN = "no answer, which is not the same as none"

// endList says whether a computer told a list. One that says nothing has none on the older
// buses, where it may be silent; on CAN it must say at least that (SAE J1979). Service 0A came
// with CAN, and not every car has it.
func (c *reader) endList(e *ECU, l endedList) {
	became := l.became[e.ID]
	if lost := l.became[""]; became == "" || lost != "" && !c.can && !c.successor {
		became = cmp.Or(lost, became) // damaged, and nobody knows by whom
	}
	switch {
	case became != "":
	case l.state == "permanent" && (c.can || c.successor):
		became = NotTold
	case l.state == "permanent":
		became = NotSupported
	case c.can || c.successor:
		became = silentOnCAN
		c.note(e.ID, l.state+" codes", became)
	default:
		became = ListRead
		c.silent = append(c.silent, e.ID+" "+l.state)
	}
	e.Lists[l.state] = became
}

// successorCodes reads one list by service 19. Permanent codes are a list of their own,
// whatever their status; in the others a code stands once.
func (c *reader) successorCodes(state, request string) error {
	return c.each(state+" codes", request, codesOf, func(e *ECU, data []byte) error {
		codes, _, err := dtc.ParseStatusCodes(data)
		was := len(e.Codes)
		for _, s := range codes {
			if state == "permanent" {
				e.Codes = append(e.Codes, newStatusCode(s, state))
				continue
			}
			if !e.has(s.String()) {
				e.addStatus(s)
			}
		}
		if format, ok := dtc.FormatOf(data); ok {
			for i := range e.Codes[was:] {
				e.Codes[was+i].written(format)
			}
		}
		return err
	})
}

// newCode is a code as a service told it, with what it means.
func newCode(c dtc.Code, state string, service byte) Code {
	text, source := c.Text()
	return Code{Code: c.String(), State: state, Service: fmt.Sprintf("%02X", service), Text: text, Source: source}
}

// newStatusCode is a code of service 19.
func newStatusCode(s dtc.StatusCode, state string) Code {
	k := newCode(s.Code, state, 0x19)
	k.Status, k.Words = fmt.Sprintf("%02X", s.Bits), s.Words()
	return k
}

// addStatus keeps a code of service 19; one that has not failed is no fault.
func (e *ECU) addStatus(s dtc.StatusCode) {
	state := s.State().String()
	if state == "" {
		return
	}
	e.Codes = append(e.Codes, newStatusCode(s, state))
}

// detailOf asks for all records of a code: 04 its snapshots, 06 its extended data
// (ISO 14229-1 service 19).
func detailOf(sub byte, c dtc.Code) string {
	const allRecords = 0xFF
	return obd.Request(0x19, sub, byte(c.Number>>8), byte(c.Number), c.FailureType, allRecords)
}

// keep keeps a code that was not told before in the same state, and says whether it was not.
func (e *ECU) keep(k Code) bool {
	for i := range e.Codes {
		if e.Codes[i].Code == k.Code && e.Codes[i].State == k.State {
			return false
		}
	}
	e.Codes = append(e.Codes, k)
	return true
}

func (e *ECU) has(code string) bool {
	for i := range e.Codes {
		if e.Codes[i].Code == code && e.Codes[i].State != "permanent" {
			return true
		}
	}
	return false
}

// Parameters of service 01 that tell of readiness and clearing (SAE J1979).
const (
	pidMonitors    = 0x01
	pidEngineSpeed = 0x0C
	pidRegulation  = 0x1C
	pidWarmUps     = 0x30
	pidClearedKM   = 0x31
	pidClearedMin  = 0x4E
	pidOdometer    = 0xA6
)

func (c *reader) readiness() error {
	err := c.parameter(pidMonitors, "readiness", func(e *ECU, part pids.Part) error {
		status, err := pids.MonitorStatus(pidMonitors, part.Data)
		if err != nil {
			return err
		}
		lamp := status.MIL || e.Lamp != nil && *e.Lamp
		told := max(e.CodesToldOf, status.Codes)
		if c.r.Nameless {
			told = e.CodesToldOf + status.Codes
		}
		e.Lamp, e.CodesToldOf = &lamp, told
		for _, t := range status.Tests {
			if t.Available && t.Name != "" {
				e.ready(Monitor{t.Name, t.Complete})
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	c.fill()
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		c.countStored(e)
		for _, state := range []string{"stored", "pending"} {
			if e.Lamp == nil && c.params.of(e.ID, pidMonitors) && slices.Contains(c.silent, e.ID+" "+state) {
				e.Lists[state] = "no answer, nor to what was asked next: is the ignition on?"
				c.note(e.ID, state+" codes", e.Lists[state])
			}
		}
	}
	for _, n := range []struct {
		pid  byte
		what string
		put  func(e *ECU, v float64)
	}{
		{pidRegulation, "regulation", nil},
		{pidWarmUps, "warm-ups since cleared", func(e *ECU, v float64) { e.cleared().WarmUps = &v }},
		{pidClearedKM, "distance since cleared", func(e *ECU, v float64) { e.cleared().KM = &v }},
		{pidClearedMin, "time since cleared", func(e *ECU, v float64) { e.cleared().Minutes = &v }},
		{pidOdometer, "odometer", func(e *ECU, v float64) { e.OdometerKM = v }},
	} {
		if err := c.parameter(n.pid, n.what, func(e *ECU, part pids.Part) error {
			values, err := part.PID.Append(nil, part.Data)
			if err != nil || len(values) == 0 {
				return err
			}
			if n.put == nil {
				e.Regulation = cmp.Or(values[0].Field.Text(values[0].Value), fmt.Sprintf("regulation %.0f, which no list here names", values[0].Value))
				return nil
			}
			n.put(e, values[0].Value)
			return nil
		}); err != nil {
			return err
		}
	}
	return nil
}

// ready keeps a self-test; of two of one name, where the adapter hides whose they are, the
// one that is not complete counts.
func (e *ECU) ready(m Monitor) {
	for i := range e.Readiness {
		if e.Readiness[i].Name == m.Name {
			e.Readiness[i].Complete = e.Readiness[i].Complete && m.Complete
			return
		}
	}
	e.Readiness = append(e.Readiness, m)
}

// countStored compares the codes that a computer told with how many it says that it stores: a
// lost reply looks like an empty list.
func (c *reader) countStored(e *ECU) {
	n := e.repeated
	for i := range e.Codes {
		if e.Codes[i].State == "stored" {
			n++
		}
	}
	if c.successor || c.r.Nameless || e.CodesToldOf <= n || e.Lists["stored"] != ListRead {
		return
	}
	e.Lists["stored"] = fmt.Sprintf("%d told, though the computer counts %d", n, e.CodesToldOf)
	c.note(e.ID, "stored codes", e.Lists["stored"])
}

func (e *ECU) cleared() *Cleared {
	if e.Cleared == nil {
		e.Cleared = &Cleared{}
	}
	return e.Cleared
}
