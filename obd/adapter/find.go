package adapter

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/prose"
)

// connect opens the port and finds the speed at which the adapter makes sense. The speed
// that worked last is tried first, then those it may have been left at: a session that was
// cut off, or a cable that was pulled, leaves an adapter with power at its raised speed.
func (c *Conn) connect() error {
	silent := &SilentError{Port: c.cfg.Name, Bauds: c.cfg.Bauds}
	for _, baud := range c.speedsToTry() {
		link, err := c.cfg.Open(c.ctx, baud)
		if err != nil {
			return openError{err}
		}
		c.term = elm.New(link, elm.Clock{Now: c.cfg.Since, Over: c.Over, Rest: c.Rest})
		c.can, c.settings.refused = obd.Capabilities{}, map[string]bool{}
		heard, err := c.identify()
		if err != nil {
			c.Close()
			return err
		}
		if c.can.Adapter != "" {
			c.can.Baud = baud
			c.speed.foundAt(baud)
			return nil
		}
		silent.Heard = silent.Heard || heard
		c.Close()
	}
	return silent
}

// speedsToTry are the speeds of the port, likeliest first, each once.
func (c *Conn) speedsToTry() (bauds []int) {
	if onNetwork(c.cfg.Bauds) {
		return c.cfg.Bauds
	}
	likely := append([]int{c.speed.found, c.speed.raised}, c.cfg.Bauds...)
	for _, f := range faster {
		likely = append(likely, f.baud)
	}
	for _, baud := range likely {
		if baud != 0 && !slices.Contains(bauds, baud) {
			bauds = append(bauds, baud)
		}
	}
	return bauds
}

// identify asks what the adapter calls itself, and then for something whose answer is known:
// whatever the name is, what says OK to a setting at this speed is an adapter. A first "?" is
// usual (junk in its buffer), and one that goes on saying "?" is an adapter all the same.
// Never a bare carriage return, which repeats the adapter's last command.
func (l *line) identify() (heard bool, err error) {
	for try := 0; try < 3; try++ {
		x, _, err := l.Do("ATI", elm.WaitIdentify)
		if err != nil {
			return heard, err
		}
		heard = heard || len(x.Lines) > 0
		if x.Ending != obd.EndPrompt {
			try++ // silence, or junk of a wrong speed: once more
			continue
		}
		named := l.term.Quiet()
		known, _, err := l.Do(l.known(), elm.WaitIdentify)
		if err != nil {
			return heard, err
		}
		if known.Ending == obd.EndPrompt && knownAnswer(&known) {
			l.can.Adapter = versionText(&x)
			if l.can.Adapter == "" {
				l.can.Adapter = "adapter without a name"
			}
			return true, l.proveLead(named)
		}
	}
	return heard, nil
}

// known is a setting whose answer is known. To an adapter that has not shown that it is free goes one
// of which nothing can be left that asks the car.
func (l *line) known() string {
	if l.term.Quiet() {
		return "ATE0"
	}
	return elm.FreeCommand
}

// proveLead has spaces lead in every command where the adapter is seen to ignore them: it gives its
// name, where it has one, because the answer that came last may come again.
func (l *line) proveLead(named bool) error {
	command := l.known()
	if named {
		command = elm.NameCommand
	}
	l.term.LeadIn(true)
	_, _, err := l.Do(command, elm.WaitIdentify)
	l.term.LeadIn(err == nil && l.term.Quiet())
	return err
}

// knownAnswer reports whether the last line is one that an adapter gives to a setting.
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
			continue // nothing, an echo after something left over, or a status
		}
		return text
	}
	return ""
}
