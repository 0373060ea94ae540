package adapter

import (
	"github.com/judder-obd/judder/obd"
)

// Address is whom the adapter asks and whom it hears: everybody, the engine's ECU alone (the
// focus of a drive), or one ECU. It can be set on CAN; without headers only to whom requests go.
type Address struct {
	settings *settings
	filter   string     // AT CRA as last set; "" when that is not known
	module   obd.Module // asked alone now; none when all are, or the engine's ECU
	flow     bool       // flow control is set by hand
	open     bool       // side requests want others heard than the focus
	alone    string     // request header of the ECU that is asked alone, where replies come without headers
}

// reset follows the adapter's own reset: it asks and hears everybody.
func (a *Address) reset() { *a = Address{settings: a.settings, filter: "ATCRA"} }

// direct sets the header of requests and the filter of replies.
func (a *Address) direct(header, filter string) error {
	if filter != a.filter {
		if err := a.settings.set(filter); err != nil {
			return err
		}
		a.filter = filter
	}
	return a.settings.set("ATSH" + header)
}

// To has the adapter ask and hear one ECU alone; none for all of them. What is set already is
// not set again.
func (a *Address) To(m obd.Module) error {
	if m == a.module {
		return nil
	}
	a.settings.decoder.Expect(m.Reply)
	if m != (obd.Module{}) {
		return a.toModule(m)
	}
	if err := a.leaveModule(); err != nil {
		return err
	}
	return a.Home()
}

// Again is To for an adapter that may have lost a word.
func (a *Address) Again(m obd.Module) error {
	a.module, a.filter = obd.Module{}, ""
	return a.To(m)
}

// Module is the ECU asked alone; none when all are.
func (a *Address) Module() obd.Module { return a.module }

// toModule sets header and filter. Where the ECU is not one of those that the adapter handles by
// itself, flow control is set by hand (ISO 15765-2: continue to send, all, without pause).
func (a *Address) toModule(m obd.Module) error {
	a.module = m
	commands := []string{"ATSH" + obd.HeaderOf(m.Request), "ATCRA" + m.Reply}
	if !m.Legislated() {
		commands = append(commands, "ATFCSH"+m.Request, "ATFCSD300000", "ATFCSM1")
	} else if a.flow {
		commands = append(commands, "ATFCSM0")
	}
	a.flow = !m.Legislated()
	if err := a.settings.set(commands...); err != nil {
		return err
	}
	a.filter = "ATCRA" + m.Reply
	if a.settings.refused[a.filter] { // an older way to say the same
		mask := map[int]string{3: "7FF", 8: "1FFFFFFF"}[len(m.Reply)]
		return a.settings.set("ATCF"+m.Reply, "ATCM"+mask)
	}
	return nil
}

// leaveModule undoes what was set for an ECU: a filter left behind looks like a dead car.
func (a *Address) leaveModule() error {
	was := a.module
	a.module = obd.Module{}
	if a.flow {
		a.flow = false
		if err := a.settings.set("ATFCSM0"); err != nil {
			return err
		}
	}
	if a.settings.refused["ATCRA"+was.Reply] {
		return a.unmask()
	}
	return nil
}

// unmask takes off a filter that was set by its mask: the adapter hears the legislated replies, as
// after a reset. A mask of zero would let all that control units say unasked pass as well.
func (a *Address) unmask() error {
	s := a.settings
	if err := s.set("ATAR"); err != nil || !s.refused["ATAR"] {
		return err
	}
	return s.set(replyFilters[s.can.Form]...)
}

// unfilter takes off a filter that was set by an address.
func (a *Address) unfilter() error {
	a.filter = "ATCRA"
	return a.settings.set(a.filter)
}

// replyFilters let all legislated replies pass (ISO 15765-4).
var replyFilters = map[obd.Form][]string{
	obd.FormCAN11: {"ATCM7F8", "ATCF7E8"}, obd.FormCAN29: {"ATCM1FFFFF00", "ATCF18DAF100"},
}

// Home has the adapter ask whom the schedule is for: the engine's ECU, or everybody.
func (a *Address) Home() error {
	focus := a.settings.can.Focus
	if focus == "" {
		return a.Everybody()
	}
	filter := "ATCRA" + focus
	if a.open {
		filter = "ATCRA"
	}
	return a.direct(obd.HeaderOf(obd.RequestAddress(focus)), filter)
}

// Everybody has the adapter ask and hear all ECUs.
func (a *Address) Everybody() error {
	can := &a.settings.can
	switch {
	case can.Form.CAN():
		return a.direct(obd.Everybody(can.Form), "ATCRA")
	case a.alone != "":
		a.alone = ""
		return a.settings.set("ATSH" + obd.Everybody(hiddenForm(can)))
	}
	return nil
}

// Unfocus has everybody asked from now on, and Home with it.
func (a *Address) Unfocus() error {
	a.settings.can.Focus = ""
	return a.Everybody()
}

// Ask has the adapter ask one ECU by its request address, and hear whom it heard, as side requests
// do.
func (a *Address) Ask(module string) error { return a.settings.set("ATSH" + obd.HeaderOf(module)) }

// Direct has the adapter ask one ECU by its request address, and hear everybody.
func (a *Address) Direct(module string) error { return a.direct(obd.HeaderOf(module), "ATCRA") }

// Filter has the adapter hear one reply address alone. Home and To open it again.
func (a *Address) Filter(reply string) error {
	a.filter = "ATCRA" + reply
	return a.settings.set(a.filter)
}

// Alone is the request header of the ECU that is asked alone where replies come without headers;
// "" where that is not so.
func (a *Address) Alone() string { return a.alone }

// Reaches reports whether an ECU can be asked alone here, as far as is known: not on the older
// buses, not without headers, only by an address of this bus, and not where the adapter
// refused the address.
func (a *Address) Reaches(m obd.Module) bool {
	return m.On(a.settings.can.Form) && !a.settings.refused["ATSH"+obd.HeaderOf(m.Request)]
}

// canForms are the layouts that CAN replies would have with headers, by the adapter's protocol
// number.
var canForms = map[string]obd.Form{"6": obd.FormCAN11, "7": obd.FormCAN29, "8": obd.FormCAN11, "9": obd.FormCAN29}

// hiddenForm is the layout that replies would have with headers.
func hiddenForm(can *obd.Capabilities) obd.Form { return canForms[obd.ProtocolNumber(can.Protocol)] }
