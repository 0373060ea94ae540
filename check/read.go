package check

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"judder/obd"
	"judder/obd/drive"
	"judder/pids"
)

// Options are what a check is told beforehand.
type Options struct {
	Modules  []obd.Module                     // further computers, asked by physical address
	VIN      bool                             // keep the whole VIN
	Swept    bool                             // all standard addresses were asked for Modules
	SkipVIN  bool                             // do not ask for it at all: what is asked is being recorded
	Now      time.Time                        // for the report
	Progress func(doing string, done, of int) // told before each step, and within long ones; may be nil
	Names    map[string]string                // reply header to name, from the vehicle profile
}

// Run reads everything the car's computers remember. What can be read is kept; what cannot
// is named in the report. The error is the link's: then the report holds what came before.
func Run(q *drive.Inquiry, o Options) (*Report, error) {
	can := q.Capabilities()
	r := &Report{Nameless: can.Form == obd.FormBare, Time: o.Now, Protocol: obd.ProtocolName(can.Protocol), Adapter: can.Adapter, NotAnswering: []string{}, Swept: o.Swept}
	c := &reader{q: q, r: r, o: o, successor: can.Successor, can: can.Form.CAN() || can.Form == obd.FormBare && !can.Slow}
	for _, id := range named(q.ECUs()) {
		r.ecu(id)
	}
	for i, step := range steps {
		if step.needs != nil && !step.needs(c) {
			continue
		}
		c.progress(step.doing, 0, 0)
		err := step.do(c)
		c.fill()
		if err != nil {
			c.breakOff(i, err)
			c.finish()
			return r, err
		}
	}
	c.finish()
	return r, nil
}

// named are computers in order, the engine's first (ISO 15765-4). One reply that lost its header
// on the way makes no computer without a name beside those that have one.
func named(ids []string) []string {
	ids = slices.Sorted(slices.Values(ids))
	if len(ids) > 1 && ids[0] == "" {
		return ids[1:]
	}
	return ids
}

// finish puts a report in order once all is read that will be.
func (c *reader) finish() {
	if !c.o.VIN {
		c.r.hideVINs(c.vins)
	}
	c.r.Triage = triage(c.r)
}

func (c *reader) progress(doing string, done, of int) {
	if c.o.Progress != nil {
		c.o.Progress(doing, done, of)
	}
}

// breakOff names all that was not reached: what was never asked must not pass for empty.
func (c *reader) breakOff(step int, err error) {
	why := err.Error()
	if errors.Is(err, drive.ErrOver) {
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
		if e.further() {
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
	q         *drive.Inquiry
	r         *Report
	o         Options
	successor bool              // SAE J1979-2
	params    supportMaps       // parameters of service 01
	computers int               // how many there are, where they have no names
	became    map[string]string // of the last question to all: by computer, as in Lists
	answers   int               // how many it brought
	can       bool
	must      bool              // what is asked now every computer must tell: a refusal says nothing
	ended     []endedList       // lists of codes that were asked for
	freezes   map[string]string // what became of the question for freeze frames; nil: not asked yet
	lostMaps  map[string]string // of the last question for what is supported: by computer, what became of a map
	vins      []string          // all that were told, whole; the first is the car's
	silent    []string          // lists that a computer of the older buses was silent to: none, if it lives
}

// endedList is a list of codes that was asked for, and what became of it by computer.
type endedList struct {
	state  string
	became map[string]string
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
	if err := c.parameters(); err != nil {
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
