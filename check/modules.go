package check

import (
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"

	"judder/obd"
	"judder/obd/drive"
	"judder/obd/reply"
	"judder/pids/dtc"
	"judder/pids/identity"
	"judder/pids/vehicle"
)

// AddProfile adds a vehicle profile's modules to those that are asked. One that is asked
// already takes its reply address from there; names of all are kept by reply address.
func (o *Options) AddProfile(p *vehicle.Profile) {
	if p == nil {
		return
	}
	if o.Names == nil {
		o.Names = map[string]string{}
	}
	for _, m := range p.Modules {
		module, err := ParseModule(m.Request)
		if err != nil {
			continue // a profile may name addresses at which nothing is asked
		}
		if module.Name = m.Name; m.Reply != "" {
			module.Reply = m.Reply
		}
		o.Names[module.Reply] = m.Name
		named := false
		for i := range o.Modules {
			if o.Modules[i].Request == module.Request {
				o.Modules[i].Reply, named = module.Reply, true
			}
		}
		if !named {
			o.Modules = append(o.Modules, module)
		}
	}
}

// ParseModule reads the address at which a computer is asked, and refuses those of ISO 15765-4
// that are none: where everybody is asked at once, and where the emission-related ones reply.
func ParseModule(text string) (obd.Module, error) {
	m, err := obd.ParseModule(text)
	switch {
	case err != nil:
		return m, err
	case m.Request == "7DF":
		return m, errors.New("module 7DF: all computers are asked there at once, which a check does anyway; give the address of one, such as 760")
	case m.Request >= "7E8" && m.Request <= "7EF":
		return m, fmt.Errorf("module %s: a computer replies with this address; it is asked 8 below, so give 7E%c", m.Request, "01234567"[strings.IndexByte("89ABCDEF", m.Request[2])])
	case m.Request == "18DAF1F1":
		return m, errors.New("module F1: that is this tester's own address; give that of a computer, such as 28")
	}
	return m, nil
}

// modules asks the further computers for their codes, each by its own address.
func (c *reader) modules() error {
	for i := range c.o.Modules {
		if err := c.module(c.o.Modules[i]); err != nil {
			return err
		}
	}
	return nil
}

// module asks one computer: codes that anything failed of (ISO 14229-1: mask 2F), then who
// it is.
func (c *reader) module(m obd.Module) error {
	asked := Asked{Name: m.Name, Request: m.Request, Reply: m.Reply}
	a, err := c.q.AskOne(m, obd.Request(0x19, 0x02, failedMask))
	if err != nil {
		return err
	}
	trouble := reply.BusTrouble(a.Raw) // the adapter's words are no answer of a computer
	if asked.Answered = (a.Outcome != drive.Silent || spoke(&a, m.Reply)) && a.Outcome != drive.Misdirected && (a.Outcome != drive.Damaged || trouble == ""); !asked.Answered {
		c.r.NotAnswering = append(c.r.NotAnswering, m.Name)
		if asked.Unreachable = !c.q.Reaches(m) || a.Outcome == drive.Misdirected; asked.Unreachable {
			c.note("", "module "+m.Name, "not asked: "+c.unreachable(m, a.Outcome))
		} else if trouble != "" {
			c.note("", "module "+m.Name, trouble)
		}
	}
	if c.r.Modules = append(c.r.Modules, asked); !asked.Answered {
		return nil
	}
	e := c.r.ecu(m.Reply)
	if e.Module = m.Name; e.Name == "" {
		e.Name = c.o.Names[m.Reply]
	}
	was := len(e.Codes)
	listed := c.moduleCodes(e, &a)
	if err := c.moduleFormat(m, e, was, listed); err != nil {
		return err
	}
	if err := c.moduleVIN(m, e); err != nil { // before the details, which may hold it as well
		return err
	}
	if err := c.moduleDetail(m, e, e.Codes[was:]); err != nil {
		return err
	}
	return c.modulePart(m, e)
}

// spoke tells whether a line that came is of a computer, though it answers nothing that was asked.
func spoke(a *drive.Answer, reply string) bool {
	return slices.ContainsFunc(a.Raw, func(line string) bool { return strings.HasPrefix(strings.ReplaceAll(line, " ", ""), reply) })
}

// answeredElse is what became of a list in whose place something else came.
const answeredElse = "it answered something else than it was asked"

// unreachable says why a module cannot be asked, and what helps.
func (c *reader) unreachable(m obd.Module, became drive.Outcome) string {
	can := c.q.Capabilities()
	switch {
	case became == drive.Misdirected:
		return "another computer answers in its place, because this adapter does not do what it is told of addresses; another adapter is needed"
	case can.Slow:
		return "on this bus (" + c.r.Protocol + ") no computer can be asked by its own address; the maker's tool is needed"
	case can.Form == obd.FormBare:
		return "this adapter hides which computer speaks; another adapter is needed"
	case len(m.Request) == 3 != (can.Form == obd.FormCAN11):
		return "its address is of another kind of CAN than this car's (three digits: 11 bits, two or eight: 29 bits)"
	}
	return "this adapter refuses to ask one computer by its address; another adapter is needed"
}

// failedMask asks for what failed in any way: now, this cycle, pending, confirmed, since
// cleared; not for the many that were only never tested (ISO 14229-1).
const failedMask = 0x2F

// byStatus is the list of codes of a further computer.
const byStatus = "by status"

// moduleCodes keeps what a computer lists, and returns how many that were.
func (c *reader) moduleCodes(e *ECU, a *drive.Answer) (listed int) {
	why := becameText(a)
	switch a.Outcome {
	case drive.Silent:
		why = answeredElse
	case drive.Answered:
		codes, available, err := dtc.ParseStatusCodes(a.Data)
		if why = ListRead; err != nil {
			why = err.Error()
		}
		switch {
		case len(codes) == 0:
		case available == 0:
			c.note(e.ID, "status of codes", "this computer says that no bit of it means anything (availability mask 00); the codes are listed all the same")
		case available&0x01 == 0:
			c.note(e.ID, "codes", "this computer does not tell current from history")
		}
		listed = len(codes)
		for _, s := range codes {
			e.addStatus(s)
		}
	}
	if e.Lists[byStatus] = why; why != ListRead {
		c.note(e.ID, "codes", why)
	}
	return listed
}

// formatISO is the format of codes that ISO 14229-1 names after itself: three bytes whose
// meaning the maker chooses.
const formatISO = 0x01

// moduleFormat asks how a computer writes the codes that its list told, those from was on, which
// the list does not tell, and how many it has (ISO 14229-1 service 19 01): a list that lacks some
// of them, be it empty, was not read. Codes that SAE J2012 does not write lose the names that do
// not belong to them; who does not answer the question is taken at the usual format.
func (c *reader) moduleFormat(m obd.Module, e *ECU, was, listed int) error {
	if listed == 0 && e.Lists[byStatus] != ListRead {
		return nil
	}
	a, err := c.q.AskOne(m, obd.Request(0x19, 0x01, failedMask))
	if err != nil || a.Outcome == drive.Declined && unsupported(a.Code) {
		return err
	}
	if a.Outcome != drive.Answered {
		for i := range e.Codes[was:] {
			e.Codes[was+i].unsure("the format of this computer's codes was not told")
		}
		what := "format of the codes"
		if listed == 0 {
			what = "number of codes"
		}
		c.note(e.ID, what, becameText(&a))
		return nil
	}
	_, format, count, err := dtc.ParseCount(a.Data)
	if err != nil {
		c.note(e.ID, "number of codes", err.Error())
		return nil
	}
	if count != listed {
		differ := fmt.Sprintf("%d listed, though the computer counts %d", listed, count)
		c.note(e.ID, "codes", differ)
		if count > listed && e.Lists[byStatus] == ListRead {
			e.Lists[byStatus] = differ
		}
	}
	for i := range e.Codes[was:] {
		e.Codes[was+i].written(format)
	}
	return nil
}

// written says how sure the name of a code is by the format in which its computer writes them.
func (k *Code) written(format byte) {
	code, err := dtc.ParseCode(k.Code)
	switch {
	case err != nil:
	case format == formatISO:
		k.unsure("this computer writes them in format 01")
	case !dtc.WritesJ2012(format):
		k.Code = fmt.Sprintf("%04X%02X", code.Number, code.FailureType)
		k.Text, k.Source = fmt.Sprintf("raw, in format %02X, which is not that of SAE J2012", format), "ISO 14229-1"
	}
}

// unsure says that the name of a code may not be its own.
func (k *Code) unsure(why string) {
	if k.Text != "" {
		k.Text += "; "
	}
	k.Text += "a reading of its bytes by SAE J2012, not sure: " + why
	k.Source = strings.TrimPrefix(k.Source+"; ISO 14229-1", "; ")
}

// bytes are the three bytes of a code of service 19, however it is written.
func (k *Code) bytes() (c dtc.Code, ok bool) {
	if c, err := dtc.ParseCode(k.Code); err == nil {
		return c, c.Three
	}
	b, err := hex.DecodeString(k.Code)
	if err != nil || len(b) != 3 {
		return c, false
	}
	return dtc.Code{Number: uint16(b[0])<<8 | uint16(b[1]), FailureType: b[2], Three: true}, true
}

// tellsOf tells whether a detail is of the code that was asked: a late one is of another.
func tellsOf(detail []byte, c dtc.Code) bool {
	return detail[2] == byte(c.Number>>8) && detail[3] == byte(c.Number) && detail[4] == c.FailureType
}

// detailMost bounds for how many codes of one computer the detail is asked.
const detailMost = 20

// moduleDetail asks for the snapshots and the extended data of each code of a list. Without the
// maker's table their lengths are not known: they are kept raw.
func (c *reader) moduleDetail(m obd.Module, e *ECU, list []Code) error {
	for i := range list[:min(len(list), detailMost)] {
		wait, err := c.detail(m, e, &list[i])
		if err != nil {
			return err
		}
		if wait {
			c.note(e.ID, "details of the codes after "+list[i].Code, "not asked, because this computer only says \"wait\"")
			return nil
		}
	}
	if more := len(list) - detailMost; more > 0 {
		c.note(e.ID, "details of the codes after "+list[detailMost-1].Code, fmt.Sprintf("not asked of %d codes: %d at most are", more, detailMost))
	}
	return nil
}

// detail asks for the detail of one code; wait is true when its computer only says "wait".
func (c *reader) detail(m obd.Module, e *ECU, k *Code) (wait bool, err error) {
	code, ok := k.bytes()
	if !ok {
		return false, nil
	}
	for _, d := range []struct {
		sub  byte
		keep *string
	}{{0x04, &k.Snapshot}, {0x06, &k.Extended}} {
		a, err := c.q.AskOne(m, detailOf(d.sub, code))
		if err != nil {
			return false, err
		}
		why := ""
		switch {
		case a.Outcome == drive.Answered && len(a.Data) > 5 && tellsOf(a.Data, code):
			*d.keep = fmt.Sprintf("%X", a.Data[6:])
		case a.Outcome == drive.Answered:
			why = "an answer for another code"
		case a.Outcome == drive.Silent:
			why = "no answer"
		case a.Outcome != drive.Declined || !unsupported(a.Code):
			why = becameText(&a)
		}
		if why != "" {
			c.note(e.ID, fmt.Sprintf("detail %02X of %s", d.sub, k.Code), why)
		}
		if a.Outcome == drive.Pending {
			return true, nil
		}
	}
	return false, nil
}

// untold tells whether a computer that is there may have what it did not tell: asked by its own
// address it must at least refuse (ISO 14229-1).
func untold(o drive.Outcome) bool {
	return o == drive.Damaged || o == drive.Pending || o == drive.Silent
}

// modulePart asks for the spare part number (F187, ISO 14229-1).
func (c *reader) modulePart(m obd.Module, e *ECU) error {
	a, err := c.q.AskOne(m, obd.Identifier(0xF187))
	if err != nil {
		return err
	}
	switch {
	case a.Outcome == drive.Answered && len(a.Data) > 3:
		e.PartNumber = strings.TrimSpace(printable(a.Data[3:]))
	case untold(a.Outcome):
		c.note(e.ID, "part number", a.Outcome.String())
	}
	return nil
}

// moduleVIN asks a computer for the number of the car it believes to be in (F190, ISO 14229-1):
// one from another car tells of itself so.
func (c *reader) moduleVIN(m obd.Module, e *ECU) error {
	if c.o.SkipVIN {
		return nil
	}
	a, err := c.q.AskOne(m, obd.Identifier(0xF190))
	if err != nil {
		return err
	}
	if a.Outcome != drive.Answered {
		if untold(a.Outcome) {
			c.note(e.ID, readingVIN, a.Outcome.String())
		}
		return nil
	}
	vin, err := identity.ParseVIN(a.Data)
	if err != nil {
		c.note(e.ID, "VIN", err.Error())
		return nil
	}
	c.sameVIN(e.ID, vin)
	if e.VIN = vin; !c.o.VIN {
		e.VIN = identity.MaskVIN(vin)
	}
	return nil
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
