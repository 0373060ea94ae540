package read

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/dtc"
	"github.com/judder-obd/judder/pids/identity"
)

// failedMask asks for what failed in any way: now, this cycle, pending, confirmed, since
// cleared; not for the many that were only never tested (ISO 14229-1).
const failedMask = 0x2F

// modules asks further modules for their codes, each by its own address.
type modules struct {
	*asker
	id    *identification
	names map[string]string // by reply header, from the vehicle profile
}

func (m *modules) read(list []obd.Module) error {
	for _, module := range list {
		if err := m.module(module); err != nil {
			return err
		}
	}
	return nil
}

// module asks one: codes that anything failed of (ISO 14229-1: mask 2F), then who it is.
func (m *modules) module(module obd.Module) error {
	x, err := m.q.AskOne(module, obd.Request(0x19, 0x02, failedMask))
	if err != nil || !m.there(module, &x) {
		return err
	}
	e := m.r.ECU(module.Reply)
	if e.Module = module.Name; e.Name == "" {
		e.Name = m.names[module.Reply]
	}
	was := len(e.Codes)
	listed := m.codes(e, &x)
	if err := m.format(module, e, was, listed); err != nil {
		return err
	}
	if err := m.vin(module, e); err != nil { // before the details, which may hold it as well
		return err
	}
	if err := m.details(module, e, e.Codes[was:]); err != nil {
		return err
	}
	return m.part(module, e)
}

// there keeps whether a module answered, and why it could not be asked. The adapter's words are
// no answer of a module.
func (m *modules) there(module obd.Module, x *inquiry.Answer) bool {
	trouble := reply.BusTrouble(x.Raw)
	asked := check.Asked{Name: module.Name, Request: module.Request, Reply: module.Reply}
	asked.Answered = (x.Outcome != inquiry.Silent || spoke(x, module.Reply)) && x.Outcome != inquiry.Misdirected && (x.Outcome != inquiry.Damaged || trouble == "")
	if !asked.Answered {
		item := check.Item{Kind: check.ItemModule, Name: module.Name}
		m.r.NotAnswering = append(m.r.NotAnswering, module.Name)
		if asked.Unreachable = !m.q.Reaches(module) || x.Outcome == inquiry.Misdirected; asked.Unreachable {
			m.note("", item, m.unreachable(module, x.Outcome))
		} else if trouble != "" {
			m.note("", item, check.Outcome{Kind: check.Worded, Text: trouble})
		}
	}
	m.r.Modules = append(m.r.Modules, asked)
	return asked.Answered
}

// spoke reports whether a line that came is of a module, though it answers nothing that was
// asked.
func spoke(x *inquiry.Answer, header string) bool {
	return slices.ContainsFunc(x.Raw, func(line string) bool { return strings.HasPrefix(strings.ReplaceAll(line, " ", ""), header) })
}

// unreachable is why a module cannot be asked.
func (m *modules) unreachable(module obd.Module, became inquiry.Outcome) check.Outcome {
	can := m.q.Capabilities()
	switch {
	case became == inquiry.Misdirected:
		return check.Of(check.ModuleMisdirected)
	case can.Slow:
		return check.Outcome{Kind: check.ModuleOnOldBus, Text: m.r.Protocol}
	case can.Form == obd.FormBare:
		return check.Of(check.ModuleNameless)
	case len(module.Request) == 3 != (can.Form == obd.FormCAN11):
		return check.Of(check.ModuleOtherCAN)
	}
	return check.Of(check.ModuleRefused)
}

// codes keeps what a module lists, and returns how many codes that were.
func (m *modules) codes(e *check.ECU, x *inquiry.Answer) (listed int) {
	became, item := outcomeOf(x), check.ListByStatus.Item()
	if x.Outcome == inquiry.Silent {
		became = check.Of(check.AnsweredElse)
	}
	if x.Outcome == inquiry.Answered {
		codes, available, err := dtc.ParseStatusCodes(x.Data)
		if err != nil {
			became = worded(err)
		}
		switch {
		case len(codes) == 0:
		case available == 0:
			m.note(e.ID, check.Item{Kind: check.ItemStatus}, check.Of(check.NoStatusBits))
		case dtc.Bits(available)&dtc.TestFailed == 0:
			m.note(e.ID, item, check.Of(check.NoCurrentBit))
		}
		listed = len(codes)
		for _, s := range codes {
			addStatus(e, s)
		}
	}
	if e.Lists[check.ListByStatus] = became; became.Kind != check.Read {
		m.note(e.ID, item, became)
	}
	return listed
}

// vin asks a module for the number of the car it believes to be in (F190, ISO 14229-1): one from
// another car shows by it.
func (m *modules) vin(module obd.Module, e *check.ECU) error {
	if m.id.skip {
		return nil
	}
	item := check.Item{Kind: check.ItemVIN}
	x, err := m.q.AskOne(module, obd.Identifier(0xF190))
	if err != nil {
		return err
	}
	if x.Outcome != inquiry.Answered {
		m.noteOpen(e, item, &x)
		return nil
	}
	vin, err := identity.ParseVIN(x.Data)
	if err != nil {
		m.noteError(e.ID, item, err)
		return nil
	}
	m.id.same(e.ID, vin)
	e.VIN = m.id.shown(vin)
	return nil
}

// part asks for the spare part number (F187, ISO 14229-1).
func (m *modules) part(module obd.Module, e *check.ECU) error {
	x, err := m.q.AskOne(module, obd.Identifier(0xF187))
	if err != nil {
		return err
	}
	if x.Outcome == inquiry.Answered && len(x.Data) > 3 {
		e.PartNumber = strings.TrimSpace(printable(x.Data[3:]))
	}
	m.noteOpen(e, check.Item{Kind: check.ItemPartNumber}, &x)
	return nil
}

// noteOpen notes that a module may have what it did not report: asked by its own address it must
// at least refuse (ISO 14229-1).
func (m *modules) noteOpen(e *check.ECU, item check.Item, x *inquiry.Answer) {
	switch x.Outcome {
	case inquiry.Damaged, inquiry.Pending, inquiry.Silent:
		m.note(e.ID, item, outcomeOf(x))
	}
}

// printable keeps the ASCII characters.
func printable(b []byte) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return -1
		}
		return r
	}, string(b))
}
