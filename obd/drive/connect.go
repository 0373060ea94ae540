package drive

import (
	"fmt"
	"judder/obd"
	"judder/obd/reply"
	"slices"
	"strings"

	"judder/prose"
)

// SilentError says that a port opened and nothing behind it spoke like an adapter.
type SilentError struct {
	Port  string
	Bauds []int
	Heard bool // something came, but it made no sense
}

// LinkCause is the code of the cause.
func (e *SilentError) LinkCause() string {
	if e.Heard {
		return obd.CauseNotAdapter.String()
	}
	return obd.CauseSilent.String()
}

func (e *SilentError) Error() string {
	switch network := onNetwork(e.Bauds); {
	case network && e.Heard:
		return e.Port + " answers, but not like an ELM327-style adapter; check the address and the port number in the adapter's papers"
	case network:
		return e.Port + " takes the connection, and nothing answers; check the address and the port number in the adapter's papers, " +
			"that no other program or telephone uses the adapter, and that it has power (ignition on)"
	case e.Heard:
		return fmt.Sprintf("%s answers, but not like an ELM327-style adapter%s; "+
			"give the adapter's serial speed with --baud, or check that this is the right port (judder ports)", e.Port, speeds(e.Bauds))
	}
	return fmt.Sprintf("nothing answers on %s%s; check that the adapter is plugged in and has power, "+
		"that no other program uses it, and that this is the right port (judder ports)", e.Port, speeds(e.Bauds))
}

// onNetwork tells whether there is no serial speed to get wrong.
func onNetwork(bauds []int) bool { return slices.Equal(bauds, []int{0}) }

func speeds(bauds []int) string {
	words := make([]string, len(bauds))
	for i, b := range bauds {
		words[i] = fmt.Sprint(b)
	}
	return " at " + strings.Join(words, ", ") + " baud"
}

// connect opens the port and finds the speed at which the adapter makes sense. The speed
// that worked last is tried first, then those it may have been left at: a session that was
// cut off, or a cable that was pulled, leaves an adapter with power at its raised speed.
func (p *Poller) connect() error {
	silent := &SilentError{Port: p.cfg.Name, Bauds: p.cfg.Bauds}
	for _, baud := range p.speedsToTry() {
		link, err := p.cfg.Open(p.ctx, baud)
		if err != nil {
			return openError{err}
		}
		p.term = &terminal{link: link, now: p.cfg.Since, over: func() bool { return p.ctx.Err() != nil }, rest: p.rest}
		p.can, p.refused = obd.Capabilities{}, map[string]bool{}
		heard, err := p.identify()
		if err != nil {
			p.close()
			return err
		}
		if p.can.Adapter != "" {
			if p.can.Baud = baud; baud != p.raised || p.baud == 0 {
				p.baud, p.raised = baud, 0
			}
			return nil
		}
		silent.Heard = silent.Heard || heard
		p.close()
	}
	return silent
}

// speedsToTry are the speeds of the port, likeliest first, each once.
func (p *Poller) speedsToTry() (bauds []int) {
	add := func(baud int) {
		if baud != 0 && !slices.Contains(bauds, baud) {
			bauds = append(bauds, baud)
		}
	}
	if onNetwork(p.cfg.Bauds) {
		return p.cfg.Bauds
	}
	add(p.baud)
	add(p.raised)
	for _, baud := range p.cfg.Bauds {
		add(baud)
	}
	for _, f := range faster {
		add(f.baud)
	}
	return bauds
}

// identify asks what the adapter calls itself, and then for something whose answer is known:
// whatever the name is, what says OK to ATE0 at this speed is an adapter. A first "?" is
// usual (junk in its buffer), and one that goes on saying "?" is an adapter all the same.
// Never a bare carriage return, which repeats the adapter's last command.
func (p *Poller) identify() (heard bool, err error) {
	for try := 0; try < 3; try++ {
		x, _, err := p.do("ATI", waitIdentify)
		if err != nil {
			return heard, err
		}
		heard = heard || len(x.Lines) > 0
		if x.Ending != obd.EndPrompt {
			try++ // silence, or junk of a wrong speed: once more
			continue
		}
		known, _, err := p.do("ATE0", waitIdentify)
		if err != nil {
			return heard, err
		}
		if known.Ending == obd.EndPrompt && knownAnswer(&known) {
			p.can.Adapter = versionText(&x)
			if p.can.Adapter == "" {
				p.can.Adapter = "adapter without a name"
			}
			return true, p.proveLead()
		}
	}
	return heard, nil
}

// proveLead has every command led in where the adapter is seen to ignore that.
func (p *Poller) proveLead() error {
	p.term.lead = leadIn
	x, _, err := p.do("ATE0", waitIdentify)
	if x.Ending != obd.EndPrompt || !knownAnswer(&x) || reply.Worst(&x) == reply.ActRefused {
		p.term.lead = ""
	}
	return err
}

// leadDoubted is after how many requests to the car in a row that the adapter does not know they
// are no longer led in: some take it before their own commands and not before requests.
const leadDoubted = 2

// doubtLead counts them.
func (p *Poller) doubtLead(x *obd.Exchange) {
	switch {
	case strings.HasPrefix(x.Request, "AT"):
	case reply.Worst(x) != reply.ActRefused:
		p.term.unknown = 0
	default:
		if p.term.unknown++; p.term.unknown == leadDoubted {
			p.term.lead = ""
		}
	}
}

// knownAnswer tells whether the last line is one that an adapter gives to a setting.
func knownAnswer(x *obd.Exchange) bool {
	if len(x.Lines) == 0 {
		return false
	}
	text := strings.TrimSpace(x.Lines[len(x.Lines)-1].Text)
	return text == "OK" || text == "?"
}

// versionText is the line that names the adapter; "" when there is none. It is shown and
// kept, and nothing follows from it.
func versionText(x *obd.Exchange) string {
	for _, l := range x.Lines {
		text := strings.TrimSpace(prose.Clean(l.Text))
		if st, _ := reply.StatusOf(text); text == "" || strings.HasPrefix(text, "AT") || reply.FromCar(text) || st != nil && st.Action != reply.ActSetUp {
			continue // nothing, an echo behind something left over, or a status
		}
		return text
	}
	return ""
}

func (p *Poller) adapterText() string {
	return fmt.Sprintf("adapter found on %s (%s)", p.cfg.Name, p.can.Adapter)
}
