package read

import (
	"fmt"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/dtc"
)

// codeService is one list of codes: the service of SAE J1979 that has it, and what a car built
// to SAE J1979-2 is asked instead (ISO 14229-1 service 19: emissions group 33, status, severity
// classes A to C). There stored and pending codes are asked for at once: a reply does not show
// which mask it answers, and one that comes late would pass for the other list.
type codeService struct {
	list      check.List
	state     dtc.State
	service   byte
	successor string // "": comes with the list before
}

var codeServices = []codeService{
	{check.ListStored, dtc.Stored, 0x03, "1942330C1E"},
	{check.ListPending, dtc.Pending, 0x07, ""},
	{check.ListPermanent, dtc.Permanent, 0x0A, "195533"},
}

// codeLists reads the lists of codes of all legislated ECUs.
type codeLists struct {
	*asker
	asked    []askedList
	repeated map[string]int // by ECU, stored codes that its list had twice
	silent   []silentList
}

// askedList is a list that was asked for, and what became of it by ECU.
type askedList struct {
	name   check.List
	became map[string]check.Outcome
}

// silentList is a list that an ECU of the older buses was silent to: it has none, if it lives.
type silentList struct {
	ecu  string
	list check.List
}

func (c *codeLists) read() error {
	var in round
	for i := range codeServices {
		s := &codeServices[i]
		var err error
		switch {
		case c.successor && s.successor == "": // came with the list before
		case c.successor:
			in, err = c.statusList(s)
		default:
			in, err = c.each(s.list.Item(), obd.Request(s.service), due{list: true, must: s.list != check.ListPermanent}, func(e *check.ECU, data []byte) error {
				codes, err := dtc.ParseCodes(data, c.can)
				for _, k := range codes {
					if !keep(e, newCode(k, s.state, s.service)) && s.state == dtc.Stored {
						c.repeated[e.ID]++
					}
				}
				return err
			})
		}
		if err != nil {
			return err
		}
		c.asked = append(c.asked, askedList{s.list, in.became})
		c.fill()
	}
	return nil
}

// fill gives every ECU an outcome of each list that was asked for so far, also one that was
// heard for the first time later on.
func (c *codeLists) fill() {
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if e.Further() {
			continue
		}
		for _, l := range c.asked {
			if _, there := e.Lists[l.name]; !there {
				c.settle(e, l)
			}
		}
	}
}

// settle says whether an ECU reported a list. One that is silent has none on the older buses,
// where it may be silent; on CAN it must say at least that (SAE J1979). Service 0A came with
// CAN, and not every car has it.
func (c *codeLists) settle(e *check.ECU, l askedList) {
	became := l.became[e.ID]
	lost := l.became[""] // damaged, and nobody knows by whom
	if lost.Kind != check.NotAsked && (became.Kind == check.NotAsked || !c.can && !c.successor) {
		became = lost
	}
	modern := c.can || c.successor
	switch {
	case became.Kind != check.NotAsked:
	case l.name == check.ListPermanent && modern:
		became = check.Of(check.MaybeNotKept)
	case l.name == check.ListPermanent:
		became = check.Of(check.NotSupported)
	case modern:
		became = check.Of(check.SilentNotNone)
		c.note(e.ID, l.name.Item(), became)
	default:
		became = check.Of(check.Read)
		c.silent = append(c.silent, silentList{e.ID, l.name})
	}
	e.Lists[l.name] = became
}

// statusList reads one list by service 19. Permanent codes are a list of their own, whatever
// their status; in the others a code is once.
func (c *codeLists) statusList(s *codeService) (round, error) {
	return c.each(s.list.Item(), s.successor, due{list: true, must: s.list != check.ListPermanent}, func(e *check.ECU, data []byte) error {
		codes, _, err := dtc.ParseStatusCodes(data)
		was := len(e.Codes)
		for _, k := range codes {
			if s.state == dtc.Permanent {
				e.Codes = append(e.Codes, newStatusCode(k, s.state))
			} else if !has(e, k.String()) {
				addStatus(e, k)
			}
		}
		if format, ok := dtc.FormatOf(data); ok {
			for i := range e.Codes[was:] {
				written(&e.Codes[was+i], format)
			}
		}
		return err
	})
}

// newCode is a code as a service reported it, with what it means.
func newCode(c dtc.Code, state dtc.State, service byte) check.Code {
	text, source := c.Text()
	return check.Code{Code: c.String(), State: state, Service: fmt.Sprintf("%02X", service), Text: text, Source: source}
}

// newStatusCode is a code of service 19.
func newStatusCode(s dtc.StatusCode, state dtc.State) check.Code {
	k := newCode(s.Code, state, 0x19)
	k.Status = &s.Status
	return k
}

// addStatus keeps a code of service 19; one that has not failed is no fault.
func addStatus(e *check.ECU, s dtc.StatusCode) {
	if state := s.State(); state != dtc.NoFault {
		e.Codes = append(e.Codes, newStatusCode(s, state))
	}
}

// keep keeps a code that was not there before in the same state, and reports whether it did.
func keep(e *check.ECU, k check.Code) bool {
	for i := range e.Codes {
		if e.Codes[i].Code == k.Code && e.Codes[i].State == k.State {
			return false
		}
	}
	e.Codes = append(e.Codes, k)
	return true
}

// has reports whether an ECU reported a code, other than as permanent.
func has(e *check.ECU, code string) bool {
	for i := range e.Codes {
		if e.Codes[i].Code == code && e.Codes[i].State != dtc.Permanent {
			return true
		}
	}
	return false
}
