package adapter

import (
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// Monitor is the adapter listening to the bus in silence. Begin fixes the protocol and proves it by a
// reply; Hear listens; End gives everything back. Between Begin and End nothing is asked of the car.
type Monitor struct {
	conn     *Conn
	reported string // the protocol as it was reported before
	mask     string // of the filter, as last set
}

// Monitor is the way to listen to the bus.
func (c *Conn) Monitor() *Monitor { return &Monitor{conn: c} }

// Begin fixes the protocol, so that listening starts no search, has the adapter name it, and asks for
// engine speed by it. ok is false where the protocol is not known, or cannot be fixed, or the car
// does not answer by it; got is what it answered.
func (m *Monitor) Begin() (got *reply.Decoded, ok bool, err error) {
	c := m.conn
	m.reported = c.can.Protocol
	number, named, err := c.protocolNow()
	if err != nil || !named || !strings.Contains(canProtocols, obd.ProtocolNumber(number)) {
		return nil, false, err
	}
	m.reported = number
	fix := "ATTP" + obd.ProtocolNumber(number)
	// CSM1: silent, as an adapter that does not know it is anyway.
	if err := c.settings.set(fix, "ATCSM1"); err != nil || c.settings.refused[fix] {
		return nil, false, err
	}
	if now, named, err := c.protocolNow(); err != nil || !named || now != obd.ProtocolNumber(number) {
		return nil, false, err // it says OK and goes on searching
	}
	got, err = m.ask()
	return got, err == nil && got.Answered(), err
}

// protocolNow is the adapter's protocol now, as AT DPN reports it ("6", "A6"), or else by its name.
func (c *Conn) protocolNow() (number string, named bool, err error) {
	x, _, err := c.Do("ATDPN", elm.WaitSetting)
	if err != nil {
		return "", false, err
	}
	if n := len(x.Lines); n > 0 && reply.Worst(&x) == reply.ActNothing {
		text := strings.TrimSpace(x.Lines[n-1].Text)
		return text, obd.ProtocolName(text) != "", nil
	}
	x, _, err = c.Do("ATDP", elm.WaitSetting)
	if err != nil || len(x.Lines) == 0 {
		return "", false, err
	}
	text := x.Lines[len(x.Lines)-1].Text
	for _, n := range canProtocols {
		_, bus, _ := strings.Cut(obd.ProtocolName(string(n)), "(")
		if !strings.Contains(text, "("+bus) {
			continue
		}
		if strings.HasPrefix(strings.TrimSpace(text), "AUTO") {
			return "A" + string(n), true, nil
		}
		return string(n), true, nil
	}
	return "", false, nil
}

// ask is one ordinary request for engine speed, or for what is supported where there is none, again
// where the reply was lost. An adapter that lost its settings meanwhile is ErrSetUp.
func (m *Monitor) ask() (got *reply.Decoded, err error) {
	var pid byte
	if m.conn.car.support.Has(obd.EngineSpeed) {
		pid = obd.EngineSpeed
	}
	for range 3 {
		var x obd.Exchange
		x, got, err = m.conn.Do(m.conn.can.Parameters(pid), elm.WaitReply)
		switch {
		case err != nil:
			return got, err
		case m.conn.car.Forgot(&x, got):
			return got, ErrSetUp
		case got.Answered():
			return got, nil
		}
	}
	return got, nil
}

// Filter lets ids alone pass that agree with value in the bits of mask; ok is false where the adapter
// refuses it.
func (m *Monitor) Filter(mask, value string) (ok bool, err error) {
	c := m.conn
	c.address.filter = ""
	if mask != m.mask {
		if err = c.settings.set("ATCM" + mask); err != nil {
			return false, err
		}
		m.mask = mask
	}
	err = c.settings.set("ATCF" + value)
	return !c.settings.refused["ATCM"+mask] && !c.settings.refused["ATCF"+value], err
}

// Hear listens for d. An adapter that shows no prompt after it is busy; End frees it.
func (m *Monitor) Hear(d time.Duration) (elm.Monitored, error) {
	c := m.conn
	if x, err := c.free(elm.MonitorRequest); err != nil {
		return elm.Monitored{Exchange: x}, err
	}
	heard, err := c.term.Monitor(d)
	heard.Form = c.can.Form
	c.sink.Exchange(heard.Exchange, &reply.Decoded{})
	return heard, err
}

// End takes the filters off, gives the protocol back as it was, and proves it all by one ordinary
// request. Where that is not answered the error is ErrSetUp.
func (m *Monitor) End() error {
	c := m.conn
	if _, err := c.free(elm.MonitorRequest); err != nil {
		return err
	}
	back := "ATTP0"
	if m.reported != "" {
		back = "ATTP" + m.reported
	}
	if err := inTurn(c.address.unmask, c.address.unfilter, c.address.Home); err != nil {
		return err
	}
	if err := c.settings.set(back); err != nil {
		return err
	}
	if got, err := m.ask(); err != nil || got.Answered() {
		return err
	}
	return ErrSetUp
}
