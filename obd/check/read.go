package check

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"judder/obd"
	"judder/pids"
)

// Options are what a check is told beforehand.
type Options struct {
	Modules  []obd.Module                     // further computers, asked by physical address
	VIN      bool                             // keep the whole VIN
	SkipVIN  bool                             // do not ask for it at all: what is asked is being recorded
	Now      time.Time                        // for the report
	Progress func(doing string, done, of int) // told before each step, and within long ones; may be nil
	Names    map[string]string                // reply header to name, from the vehicle profile
}

// Run reads everything the car's computers remember. What can be read is kept; what cannot
// is named in the report. The error is the link's: then the report holds what came before.
func Run(q *obd.Inquiry, o Options) (*Report, error) {
	can := q.Capabilities()
	r := &Report{Nameless: can.Form == obd.FormBare, Time: o.Now, Protocol: obd.ProtocolName(can.Protocol), Adapter: can.Adapter, NotAnswering: []string{}}
	c := &reader{q: q, r: r, o: o, successor: can.Successor, can: can.Form == obd.FormCAN11 || can.Form == obd.FormCAN29 || can.Form == obd.FormBare && !can.Slow}
	for _, id := range slices.Sorted(slices.Values(q.ECUs())) { // the engine's first (ISO 15765-4)
		r.ecu(id)
	}
	for i, step := range steps {
		if step.needs != nil && !step.needs(c) {
			continue
		}
		c.progress(step.doing, 0, 0)
		if err := step.do(c); err != nil {
			c.breakOff(i, err)
			r.Triage = triage(r)
			return r, err
		}
	}
	r.Triage = triage(r)
	return r, nil
}

func (c *reader) progress(doing string, done, of int) {
	if c.o.Progress != nil {
		c.o.Progress(doing, done, of)
	}
}

// breakOff names all that was not reached: what was never asked must not pass for empty.
func (c *reader) breakOff(step int, err error) {
	why := err.Error()
	if errors.Is(err, obd.ErrOver) {
		why = "interrupted"
	}
	c.r.BrokeOff = steps[step].doing + ": " + why
	for i, s := range steps[step:] {
		switch {
		case s.needs != nil && !s.needs(c):
		case i == 0:
			c.note("", s.doing, "the check broke off in the middle of this")
		default:
			c.note("", s.doing, "the check broke off before this")
		}
	}
	const unasked = "not asked: the check broke off"
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if e.Module != "" {
			continue
		}
		for _, l := range codeLists {
			e.Lists[l.state] = cmp.Or(e.Lists[l.state], unasked)
		}
		e.FreezeState = cmp.Or(e.FreezeState, unasked)
	}
}

// reader is a check under way.
type reader struct {
	q         *obd.Inquiry
	r         *Report
	o         Options
	successor bool              // SAE J1979-2
	became    map[string]string // of the last question to all: by computer, as in Lists
	can       bool
	vin       string   // the first that was told, whole
	silent    []string // lists that a computer of the older buses was silent to: none, if it lives
}

// steps in order: what says who the car is, then codes, then what belongs to them.
var steps = []struct {
	doing string
	do    func(*reader) error
	needs func(*reader) bool // nil: always
}{
	{"supply voltage and engine speed", (*reader).condition, nil},
	{"identification", (*reader).identity, nil},
	{"stored, pending and permanent codes", (*reader).codes, nil},
	{"readiness and distance since cleared", (*reader).readiness, nil},
	{"freeze frames", (*reader).freeze, nil},
	{"test results and misfire counters", (*reader).tests, nil},
	{"further computers", (*reader).modules, func(c *reader) bool { return len(c.o.Modules) > 0 }},
}

// condition asks the adapter for the voltage at the socket, and the car whether its engine
// runs: a supply is judged by it.
func (c *reader) condition() error {
	v, err := c.q.Volts()
	if c.r.Volts = v; err != nil {
		return err
	}
	return c.parameter(pidEngineSpeed, "engine speed", func(_ *ECU, part pids.Part) error {
		values, err := part.PID.Append(nil, part.Data)
		if err == nil && len(values) == 1 && (c.r.EngineRPM == nil || *c.r.EngineRPM < values[0].Value) {
			c.r.EngineRPM = &values[0].Value
		}
		return err
	})
}

// each asks all computers and hands every whole answer to take, with the computer it is of.
// What take cannot read, and what came damaged, is noted.
func (c *reader) each(what, request string, take func(e *ECU, data []byte) error) error {
	answers, err := c.q.AskAll(request)
	if err != nil {
		return err
	}
	c.became = map[string]string{}
	for i := range answers {
		a := &answers[i]
		became, why := a.Outcome.String(), a.Outcome.String()
		switch a.Outcome {
		case obd.Answered:
			became, why = ListRead, ""
			if err := take(c.r.ecu(a.ECU), a.Data); err != nil {
				became, why = err.Error(), err.Error()
			}
		case obd.Declined:
			became, why = NotSupported, ""
			if !unsupported(a.Code) {
				why = "refused: " + pids.RefusalText(a.Code)
				became = why
			}
		case obd.Silent:
			became, why = "", ""
		}
		if why != "" {
			c.note(a.ECU, what, why)
		}
		if c.became[a.ECU] == "" || became != ListRead {
			c.became[a.ECU] = became
		}
	}
	return nil
}

// note names what could not be read.
func (c *reader) note(ecu, what, why string) {
	text := what + ": " + why
	if ecu == "" {
		c.r.Unread = append(c.r.Unread, text)
		return
	}
	e := c.r.ecu(ecu)
	e.Unread = append(e.Unread, text)
}

// unsupported are the refusals that say no more than that a computer does not have it
// (ISO 14229-1: 11 service, 12 sub-function, 31 out of range).
func unsupported(code byte) bool { return code == 0x11 || code == 0x12 || code == 0x31 }

// Info types of service 09 (SAE J1979).
const (
	infoVIN         = 0x02
	infoCalibration = 0x04
	infoCVN         = 0x06
	infoName        = 0x0A
)

// What is read of the identification, as it is named when it is not read whole.
const (
	readingVIN  = "VIN"
	readingIDs  = "calibration ids"
	readingCVNs = "calibration verification numbers"
)

func (c *reader) identity() error {
	if !c.o.SkipVIN {
		if err := c.whole("VIN", infoVIN, func(e *ECU, data []byte) error {
			vin, err := pids.ParseVIN(data)
			if err == nil && c.sameVIN(e.ID, vin) {
				c.takeVIN(vin)
			}
			return err
		}); err != nil {
			return err
		}
	}
	if err := c.whole(readingIDs, infoCalibration, func(e *ECU, data []byte) error {
		ids, err := pids.ParseCalibrationIDs(data)
		e.Calibrations = append(e.Calibrations, ids...)
		return err
	}); err != nil {
		return err
	}
	if err := c.whole(readingCVNs, infoCVN, func(e *ECU, data []byte) error {
		numbers, err := pids.ParseCVNs(data)
		e.CVNs = append(e.CVNs, numbers...)
		return err
	}); err != nil {
		return err
	}
	return c.whole("name", infoName, func(e *ECU, data []byte) (err error) {
		if c.r.Nameless {
			return nil // one name for several computers would be wrong
		}
		e.Name, err = pids.ParseECUName(data)
		return err
	})
}

// sameVIN tells whether a number is the first or that of the first; another one is named.
func (c *reader) sameVIN(ecu, vin string) bool {
	if c.vin == "" {
		c.vin = vin
	}
	if vin != c.vin {
		c.note(ecu, "VIN", "this computer tells another number than the first; it may come from another car")
	}
	return vin == c.vin
}

func (c *reader) takeVIN(vin string) {
	well := pids.CheckVIN(vin)
	c.r.ModelYear, c.r.VINNote = well.ModelYear, well.Why
	if c.r.VIN = vin; !c.o.VIN {
		c.r.VIN = pids.MaskVIN(vin)
	}
}

// whole asks for an info type. On the older buses a long one comes in numbered lines, which
// are joined for each computer.
func (c *reader) whole(what string, item byte, take func(e *ECU, data []byte) error) error {
	if c.can || c.successor {
		return c.each(what, c.q.Information(item), take)
	}
	lines := map[string][][]byte{}
	var order []string
	err := c.each(what, c.q.Information(item), func(e *ECU, data []byte) error {
		if lines[e.ID] == nil {
			order = append(order, e.ID)
		}
		lines[e.ID] = append(lines[e.ID], data)
		return nil
	})
	if err != nil {
		return err
	}
	for _, id := range order {
		data, err := pids.JoinLegacy(lines[id])
		if err == nil {
			err = take(c.r.ecu(id), data)
		}
		if err != nil {
			c.note(id, what, err.Error())
		}
	}
	return nil
}
