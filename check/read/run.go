// Package read makes a code check: it asks a car, through an inquiry, for all that its ECUs keep
// of faults, and fills a report. It sends only requests that read.
package read

import (
	"errors"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/inquiry"
)

// Options are what is settled before a check.
type Options struct {
	Modules  []obd.Module                         // further modules, asked by physical address
	VIN      bool                                 // keep the whole VIN
	Swept    bool                                 // all standard addresses were asked for Modules
	SkipVIN  bool                                 // do not ask for it: what is asked is being recorded
	Now      time.Time                            // for the report
	Progress func(doing check.Item, done, of int) // called before each step, and within long ones; may be nil
	Names    map[string]string                    // reply header to name, from the vehicle profile
	Program  string                               // that makes the check
	Digest   func(vin string) string              // the digest to keep of the VIN; nil for none
}

// Run reads all that the car's ECUs keep. What can be read is kept; what cannot is named in the
// report. The error is the link's: then the report holds what came before.
func Run(q *inquiry.Inquiry, o Options) (*check.Report, error) {
	c := newChecker(q, &o)
	for i, s := range steps {
		if s.needs != nil && !s.needs(c) {
			continue
		}
		c.progress(check.Item{Kind: s.doing}, 0, 0)
		err := s.do(c)
		c.fill()
		if err != nil {
			c.breakOff(i, err)
			c.finish()
			return c.r, err
		}
	}
	c.finish()
	return c.r, nil
}

// checker is a check under way: one part for each idea, all of which ask by the same asker.
type checker struct {
	*asker
	o       *Options
	params  *parameters
	id      *identification
	lists   *codeLists
	frames  *frames
	tests   *tests
	modules *modules
}

func newChecker(q *inquiry.Inquiry, o *Options) *checker {
	can := q.Capabilities()
	r := &check.Report{
		Stamp: check.Stamp{Program: o.Program}, Time: o.Now, Protocol: obd.ProtocolName(can.Protocol), OlderBus: can.Slow, Adapter: can.Adapter,
		Nameless: q.Mixed(), NotAnswering: []string{}, Swept: o.Swept,
	}
	a := &asker{q: q, r: r, successor: can.Successor, can: can.Form.CAN() || can.Form == obd.FormBare && !can.Slow, report: o.Progress}
	for _, id := range named(q.ECUs()) {
		r.ECU(id)
	}
	c := &checker{asker: a, o: o, params: &parameters{asker: a}}
	c.id = &identification{asker: a, show: o.VIN, skip: o.SkipVIN, digest: o.Digest}
	c.lists = &codeLists{asker: a, repeated: map[string]int{}}
	c.frames = &frames{asker: a}
	c.tests = &tests{asker: a}
	c.modules = &modules{asker: a, id: c.id, names: o.Names}
	return c
}

// steps in order: who the car is, then codes, then what belongs to them.
var steps = []struct {
	doing check.ItemKind
	do    func(*checker) error
	needs func(*checker) bool // nil: always
}{
	{check.StepSupply, (*checker).supply, nil},
	{check.StepIdentity, func(c *checker) error { return c.id.read() }, nil},
	{check.StepCodes, func(c *checker) error { return c.lists.read() }, nil},
	{check.StepReadiness, (*checker).readiness, nil},
	{check.StepFreeze, func(c *checker) error { return c.frames.read(c.lists.fill) }, nil},
	{check.StepTests, func(c *checker) error { return c.tests.read() }, nil},
	{check.StepModules, func(c *checker) error { return c.modules.read(c.o.Modules) }, func(c *checker) bool { return len(c.o.Modules) > 0 }},
}

// fill gives every ECU an outcome for what was asked so far, also one that was heard late.
func (c *checker) fill() {
	c.lists.fill()
	c.frames.fill()
}

// finish puts a report in order once all is read that will be.
func (c *checker) finish() {
	if !c.o.VIN {
		hideVINs(c.r, c.id.vins)
	}
	c.r.Triage = triage.Of(c.r)
}

// breakOff names all that was not reached: what was never asked must not pass for empty.
func (c *checker) breakOff(step int, err error) {
	why := check.Outcome{Kind: check.Worded, Text: err.Error()}
	if errors.Is(err, elm.ErrOver) {
		why = check.Of(check.Interrupted)
	}
	c.r.BrokeOff = &check.Note{Item: check.Item{Kind: steps[step].doing}, Outcome: why}
	for i, s := range steps[step:] {
		switch item := (check.Item{Kind: s.doing}); {
		case s.needs != nil && !s.needs(c):
		case i == 0:
			c.note("", item, check.Of(check.BrokenOffHere))
		default:
			c.note("", item, check.Of(check.BrokenOffEarlier))
		}
	}
	unasked := check.Of(check.BrokenOff)
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if e.Further() {
			continue
		}
		for _, l := range check.Legislated {
			if e.Lists[l].Kind == check.NotAsked {
				e.Lists[l] = unasked
			}
		}
		if e.FreezeState.Kind == check.NotAsked {
			e.FreezeState = unasked
		}
	}
}
