package drive

import (
	"errors"
	"fmt"
	"judder/obd"
	"judder/obd/reply"
	"slices"
	"strings"
	"time"

	"judder/prose"
)

// settings are sent after a reset, in this order (common practice, no source). The adapter
// may refuse any of them: the parser takes an echo, spaces, line feeds and bare replies.
var settings = []string{
	"ATD0",   // no length in front of the data; first, as some take it for AT D, which undoes the rest
	"ATCAF1", // replies taken apart at their control bytes
	"ATE0",   // no echo
	"ATL0",   // no line feeds
	"ATS0",   // no spaces: a third of the characters saved
	"ATH1",   // headers, so that ECUs are told apart
	"ATM0",   // do not keep the protocol in memory
	"ATAT1",  // adaptive timing
	"ATTP0",  // look for the protocol, without keeping it
}

// ways are how the car is looked for, in turn: by the adapter's own search (AT TP 0), and where
// that fails by each protocol's number, CAN first, as on all cars of the last years, then the
// older buses.
var ways = []string{
	"ATTP0", "ATTP6", "ATTP7", "ATTP0", "ATTP8", "ATTP9", "ATTP0", "ATTP5", "ATTP4", "ATTP0", "ATTP3", "ATTP2", "ATTP1",
}

// errSetUp asks for the adapter to be set up again; the link itself is whole.
var errSetUp = errors.New("the adapter has lost its settings")

// setUpAgain tells why, and is errSetUp.
func (p *Poller) setUpAgain(cause obd.Cause, text string) error {
	p.tell(obd.LinkOpening, cause, text)
	return errSetUp
}

// canProtocols are the numbers of those on CAN, on which a car may follow SAE J1979-2.
const canProtocols = "6789"

// setUp brings the adapter from any state to a car that answers, and learns what both can
// do. It waits for the car as long as the session lasts; the error is the link's.
func (p *Poller) setUp() error {
	if err := p.reset(); err != nil {
		return err
	}
	if err := p.raise(); err != nil {
		return err
	}
	if p.blocked {
		if err := p.set("ATFE"); err != nil {
			return err
		}
		p.blocked = false
	}
	if err := p.apply(settings); err != nil {
		return err
	}
	if err := p.findCar(); err != nil {
		return err
	}
	if err := p.describe(); err != nil {
		return err
	}
	if err := p.focus(); err != nil {
		return err
	}
	if err := p.probe(); err != nil {
		return err
	}
	if err := p.tune(); err != nil {
		return err
	}
	if p.cfg.AskVIN {
		if _, _, err := p.do(p.can.Information(obd.InfoVIN), waitReply); err != nil {
			return err
		}
	}
	can := p.can
	can.Count = p.counts()
	p.schedule = NewSchedule(can, p.wanted())
	p.tellCar()
	return nil
}

// balksMost is how often in a row an adapter may refuse what it took before.
const balksMost = 5

// apply sends settings. An adapter that refuses what it took before is not itself yet: errSetUp.
func (p *Poller) apply(settings []string) error {
	for _, s := range settings {
		if err := p.set(s); err != nil {
			return err
		}
		if !p.refused[s] {
			p.took[s] = true
			continue
		}
		if p.took[s] {
			if p.balks++; p.balks == balksMost { // it has changed its mind
				delete(p.took, s)
			}
			p.tell(obd.LinkOpening, obd.CauseRefuses, "the adapter refuses what it took before; setting it up again")
			p.rest(pauseLost)
			return errSetUp
		}
	}
	p.balks = 0
	return nil
}

// set sends one setting, once more when it is refused (there may have been junk before it) or
// not answered, and not again after that.
func (p *Poller) set(command string) error {
	refused := false
	for range 2 {
		if p.refused[command] {
			return nil
		}
		x, _, err := p.do(command, waitSetting)
		switch {
		case err != nil:
			return err
		case reply.Worst(&x) == reply.ActRefused:
			refused = true
		case x.Ending == obd.EndPrompt:
			return nil
		}
	}
	p.refused[command] = refused
	return nil
}

// reset brings the adapter's settings back to their defaults, so that nothing of an earlier
// program is left. One that refuses to is used as it is: the settings that follow do.
func (p *Poller) reset() error {
	p.can, p.patient, p.filter = obd.Capabilities{Adapter: p.can.Adapter, Baud: max(p.can.Baud, p.baud)}, false, "ATCRA"
	p.alone, p.several, p.idleCount = "", false, false
	p.refused, p.watch = map[string]bool{}, watch{sought: p.cfg.Since(), seeks: p.watch.seeks}
	prompt := false
	resets := []string{"ATZ", "ATZ", "ATWS", "ATD"}
	if p.can.Baud > slowest {
		resets = []string{"ATWS", "ATWS", "ATD"} // ATZ would go back to the delivered speed
	}
	for _, command := range resets {
		x, _, err := p.do(command, waitReset)
		if err != nil {
			return err
		}
		prompt = prompt || x.Ending == obd.EndPrompt
		if a := reply.Worst(&x); x.Ending == obd.EndPrompt && a != reply.ActRefused && a != reply.ActAgain {
			return nil
		}
	}
	if prompt {
		return nil
	}
	return because(obd.CauseSilent, fmt.Errorf("the adapter on %s does not answer: no prompt after ATZ, ATWS and ATD", p.cfg.Name))
}

// findCar asks the car what it supports until it answers.
func (p *Poller) findCar() error {
	odd := false // something answered that cannot be read
	for try := 0; ; try++ {
		way := p.way(try)
		if try > 0 && (way == ways[0] || way == "ATTP"+p.found) { // one protocol alone fails soon
			p.rest(pauseCar)
		}
		if try > 0 || way != ways[0] { // that stands in the settings
			if _, _, err := p.do(way, waitSetting); err != nil {
				return err
			}
		}
		x, _, err := p.do("0100", waitSearch)
		if err != nil {
			return err
		}
		if number := way[4:]; p.can.Form == obd.FormUnknown && reply.Worst(&x) != reply.ActSetUp && strings.Contains(canProtocols, number) {
			y, _, err := p.do("22F400", waitReply)
			if err != nil {
				return err
			}
			if reply.Worst(&y) == reply.ActSetUp {
				x = y
			}
			p.can.Successor = p.can.Form != obd.FormUnknown
		}
		if p.can.Form != obd.FormUnknown {
			return p.headersTold()
		}
		if reply.Worst(&x) == reply.ActSetUp {
			p.tell(obd.LinkAdapter, obd.CauseCannotAsk, "the adapter cannot ask the car"+reply.Why(&x, reply.ActSetUp)+"; setting it up again")
			p.rest(pauseCar)
			return errSetUp
		}
		if x.Ending == obd.EndSilence {
			return because(obd.CauseSilent, fmt.Errorf("the adapter on %s went silent while looking for the car", p.cfg.Name))
		}
		cause, text := carSilent(&x)
		if answers := cause == obd.CauseUnreadable; answers || !odd { // what other ways bring says less
			odd = answers
			p.tell(obd.LinkAdapter, cause, text)
		}
	}
}

// way is how the car is looked for at a try: by turns, but mostly by the protocol by which it
// answered before.
func (p *Poller) way(try int) string {
	const others = 10 // one try in so many goes another way then: it may be another car
	switch {
	case p.found == "":
		return ways[try%len(ways)]
	case try%others < others-1:
		return "ATTP" + p.found
	}
	return ways[try/others%len(ways)]
}

// headersTold is errSetUp, once, for an adapter that said OK to headers and shows none: it may have
// started afresh without a word.
func (p *Poller) headersTold() error {
	if p.can.Form != obd.FormBare {
		p.nameless = false
	}
	if p.can.Form != obd.FormBare || p.refused["ATH1"] || p.nameless {
		return nil
	}
	p.nameless = true
	return p.setUpAgain(obd.CauseForgot, "the adapter shows no headers though it was told to; setting it up again")
}

// carSilent is what an exchange shows of a car that did not answer the usual request.
func carSilent(x *obd.Exchange) (obd.Cause, string) {
	for _, l := range x.Lines {
		if st, rest := reply.StatusOf(strings.TrimSpace(l.Text)); st != nil && rest == "" && st.Action > reply.ActDrop {
			return obd.CauseCarSilent, "the adapter answers, the car does not (" + st.Text + ": " + st.Means + ")"
		}
	}
	for _, l := range x.Lines {
		if text := strings.TrimSpace(l.Text); reply.FromCar(text) {
			return obd.CauseUnreadable, fmt.Sprintf("something answers in a form that cannot be read (%.30s); another adapter may help", prose.Clean(text))
		}
	}
	return obd.CauseCarSilent, "the adapter answers, the car does not; switch the ignition on"
}

// describe learns the protocol and walks the support maps of every ECU.
func (p *Poller) describe() error {
	x, _, err := p.do("ATDPN", waitSetting)
	if err != nil {
		return err
	}
	if len(x.Lines) > 0 && reply.Worst(&x) == reply.ActNothing {
		p.can.Protocol = prose.Clean(strings.TrimSpace(x.Lines[len(x.Lines)-1].Text))
	}
	number := obd.ProtocolNumber(p.can.Protocol)
	if p.found = ""; slices.Contains(ways[1:], "ATTP"+number) {
		p.found = number
	}
	switch {
	case p.can.Form == obd.FormKLine && (number == "1" || number == "2"):
		p.can.Form = obd.FormJ1850 // one car in 256 has a first reply whose two check bytes are the same
	case p.can.Form == obd.FormJ1850 && strings.Contains("345", number) && number != "":
		p.can.Form = obd.FormKLine
	}
	p.can.Slow = p.can.Form == obd.FormKLine || p.can.Form == obd.FormJ1850 ||
		p.can.Form == obd.FormBare && strings.ContainsAny(number, "12345")
	return p.walkSupport()
}

// walkSupport reads the support maps of whoever is asked.
func (p *Poller) walkSupport() error {
	p.support = reply.Support{}
	for base := 0; base < 0xE0; base += 0x20 {
		if base > 0 && !p.support.Has(byte(base)) {
			break
		}
		if err := p.supportMap(byte(base)); err != nil {
			return err
		}
	}
	return nil
}

// learn is do while adapter and car are being learnt: an adapter that starts afresh meanwhile, or
// shows no headers any more, is errSetUp.
func (p *Poller) learn(request string, wait time.Duration) (obd.Exchange, []reply.Message, error) {
	x, messages, err := p.do(request, wait)
	if err == nil && (reply.Worst(&x) == reply.ActSetUp || reply.AnyBare(messages) || p.can.Form != obd.FormBare && reply.LongBare(&x)) {
		err = p.setUpAgain(obd.CauseRestarted, "setting the adapter up again"+reply.Why(&x, reply.ActSetUp))
	}
	return x, messages, err
}

// supportMap asks for one map, again when a reply was lost.
func (p *Poller) supportMap(base byte) error {
	due := p.decoder.KnownECUs()
	if base > 0 {
		due = slices.DeleteFunc(p.support.ECUs(), func(id string) bool { return !p.support.Of(id).Has(base) })
	}
	for range 3 {
		damaged, missing := p.decoder.Counts.Damaged, slices.Clone(due)
		_, messages, err := p.learn(p.can.Parameters(base), waitReply)
		if err != nil {
			return err
		}
		whole := false
		p.several = base == 0 && len(messages) > 1 || base > 0 && p.several
		for _, m := range messages {
			if d := reply.ParameterData(m.Data); d != nil && p.support.Add(m.ECU, d) == nil {
				whole = true
				missing = slices.DeleteFunc(missing, func(id string) bool { return id == m.ECU })
			}
		}
		if whole && len(missing) == 0 && p.decoder.Counts.Damaged == damaged {
			return nil
		}
	}
	return nil
}

// wanted tells which PIDs whoever is asked supports.
func (p *Poller) wanted() func(pid byte) bool {
	if e := p.support.Of(p.can.Focus); e != nil {
		return e.Has
	}
	return p.support.Has
}

// tellCar reports that the car answers, and who of it.
func (p *Poller) tellCar() {
	cause := obd.CauseCarFound
	if !p.support.Has(obd.EngineSpeed) {
		cause = obd.CauseNoSpeed
	}
	p.tell(obd.LinkCar, cause, p.carText())
}

func (p *Poller) carText() string {
	text := "the car answers"
	named := slices.DeleteFunc(slices.Clone(p.support.ECUs()), func(id string) bool { return id == "" })
	if names := strings.Join(named, ", "); names != "" {
		text += ": " + names
	}
	switch {
	case p.can.Focus != "":
		text += "; " + p.can.Focus + " is asked alone"
	case p.alone != "":
		text += "; the adapter hides who speaks, so " + p.alone + " is asked alone"
	case p.can.Form == obd.FormBare && p.several:
		text += " (SEVERAL COMPUTERS, and the adapter hides which of them speaks: what more than one of them tells is not used; use another adapter)"
	}
	if name := obd.ProtocolName(p.can.Protocol); name != "" {
		text += ", " + name
	} else if p.can.Form.CAN() {
		text += ", CAN with " + map[obd.Form]string{obd.FormCAN11: "11", obd.FormCAN29: "29"}[p.can.Form] + " bits"
	}
	if p.can.Successor {
		text += ", SAE J1979-2"
	}
	if !p.support.Has(obd.EngineSpeed) {
		text += "; it gives no engine speed, so nothing can be judged"
	}
	return text
}
