package elm

import (
	"iter"
	"slices"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// An adapter that still waits for the car takes the first character that it is sent for "stop", and
// loses more while it stops. It makes a command of what is left: of 010C0D1 is left 10 C0 D1, another
// session; of 0904 is left 04, which clears codes; of ATBRD11 is left 11, a reset. A prompt does not
// show that an adapter is free: a reply that comes twice, early, or late brings its own.
//
// So a command goes out only where one of three holds (guard.ready):
//
//   - no rest of it is a request that the gate refuses (harmless);
//   - the adapter has just answered such a command in full: it is free, and hears whole commands;
//   - spaces lead in, as the adapter was seen to ignore them (ELM327 data sheet p. 9): they are what
//     it swallows. An adapter at fault has to show for a while, before each request, that it is free.
//
// An adapter that loses characters all the same is asked no more of the car (guard.loses): it does not
// know what it knew, or the car refuses a service that judder never sends.

const (
	// FreeCommand is sent to an adapter that is to show that it is free, in turn with NameCommand. No
	// rest of them is a request, and an answer that is late by one is not that of the other.
	FreeCommand = "ATL0"
	// NameCommand asks for the adapter's name.
	NameCommand = "ATI"
	// FreeTries is how often they are sent before the adapter counts as gone.
	FreeTries = 4

	// leadIn is as long as an adapter may be deaf: the character that stops it, and eleven while it
	// writes STOPPED, two line ends and the prompt. leadShort is for what a drive asks over a serial
	// line, where the rest would cost one reading in ten at 38400 baud.
	leadIn      = "            "
	leadShort   = "   "
	leadDoubted = 2 // requests in a row that the adapter does not know: some take spaces before their own commands alone
	owedFirst   = 25
	owedMost    = 3200 // some minutes of a drive
)

// guard knows whether the adapter may be busy with the car, and whether it hears whole commands.
type guard struct {
	busy    bool
	quiet   bool // it has just answered a command of its own in full
	led     bool // spaces lead in
	hurry   bool // and only as many as may be
	owed    int  // requests before which quiet must be shown, though spaces lead in
	debt    int  // what was owed after the last fault
	unknown int  // requests to the car in a row that the adapter did not know
	heard   bool // it has said OK to FreeCommand
	loses   bool // it lost characters, and nothing guards the car
}

// harmless reports whether no rest of a command, whatever of its beginning is lost, is a request
// that the gate refuses. One hex digit is none, nor is what is no hex.
func harmless(command string) bool {
	for rest := range rests(command) {
		if obd.AllHex(rest) && Permit(rest) != nil {
			return false
		}
	}
	return true
}

// rests are what may be left of a command whose beginning is lost, of two characters or more.
func rests(command string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for i := 1; i < len(command)-1; i++ {
			if !yield(command[i:]) {
				return
			}
		}
	}
}

// refusesRest reports whether the car answers a request by refusing a service that was never asked of
// it: that of a rest of the request.
func refusesRest(x *obd.Exchange) bool {
	r, refused := reply.ParseRequest(x.Request), false
	for i := range x.Lines {
		text := strings.ReplaceAll(x.Lines[i].Text, " ", "")
		if r.NamedIn(text) {
			return false
		}
		for rest := range rests(x.Request) {
			refused = refused || isRefusal(text, rest[:2]) && Permit(rest) != nil
		}
	}
	return refused
}

// isRefusal reports whether a line is the refusal of a service and nothing else (7F, service, code;
// ISO 14229-1): without a header; as a single frame of three bytes on CAN, padded or not; or on an
// older bus, with its three header bytes and its sum.
func isRefusal(line, service string) bool {
	if !obd.AllHex(line) {
		return false
	}
	refusal := "7F" + service
	switch n := len(line); n {
	case 6:
		return strings.HasPrefix(line, refusal)
	case 11, 19:
		return strings.HasPrefix(line[3:], "03"+refusal)
	case 16, 24:
		return strings.HasPrefix(line[8:], "03"+refusal)
	case 14:
		return strings.HasPrefix(line[6:], refusal) && (line[:2] == "48" || line[:1] == "8")
	}
	return false
}

// ready reports whether a command may go out now.
func (g *guard) ready(command string) bool {
	switch {
	case isOwn(command) && command != MonitorRequest && harmless(command):
		return true
	case g.loses:
		return false
	}
	return g.quiet || g.led && !g.busy && g.owed == 0
}

// lead is what goes before a command.
func (g *guard) lead(command string) string {
	switch {
	case !g.led:
		return ""
	case g.hurry && !clears(command):
		return leadShort
	}
	return leadIn
}

// clears reports whether a rest of a command asks for codes to be cleared (services 04 and 14).
func clears(command string) bool {
	for rest := range rests(command) {
		if strings.HasPrefix(rest, EraseRequest) || strings.HasPrefix(rest, EraseRequestSuccessor[:2]) {
			return true
		}
	}
	return false
}

// note takes in an exchange that is over; stray reports that a prompt came out of turn in it.
func (g *guard) note(x *obd.Exchange, stray bool) {
	stopped := stray || reply.Says(x, "STOPPED") // also where that came before it
	came := *x
	for len(came.Lines) > 0 && came.Lines[0].At < x.Sent {
		came.Lines = came.Lines[1:]
	}
	worst, own := reply.Worst(&came), isOwn(x.Request)
	deaf := !g.led && !g.busy && g.heard && x.Request == FreeCommand && !stopped && worst == reply.ActRefused
	g.loses = g.loses || deaf || !own && refusesRest(&came)
	if !g.busy && stopped {
		g.debt = min(max(owedFirst, 2*g.debt), owedMost)
		g.owed = g.debt
	} else if g.owed > 0 && !own {
		g.owed--
	}
	g.quiet = own && answersInFull(&came)
	g.heard = g.heard && (g.quiet || worst != reply.ActSetUp) || g.quiet && x.Request == FreeCommand
	switch {
	case g.quiet:
		g.busy = false
	case own:
		g.busy = g.busy || stopped || x.Ending == obd.EndSilence
	default:
		g.busy = stopped || x.Ending == obd.EndSilence || worst == reply.ActRefused
		g.noteLead(worst)
	}
}

// noteLead takes in what came of a request to the car.
func (g *guard) noteLead(worst reply.Action) {
	if worst != reply.ActRefused {
		g.unknown = 0
		return
	}
	if g.unknown++; g.unknown == leadDoubted {
		g.led = false
	}
}

// answersInFull reports whether a command of the adapter's own was answered as it is where the whole of
// it was heard, and nothing else came: one OK, or to NameCommand what is its name.
func answersInFull(x *obd.Exchange) bool {
	if x.Request != NameCommand || x.Ending != obd.EndPrompt {
		return x.Ending == obd.EndPrompt && len(x.Lines) == 1 && strings.TrimSpace(x.Lines[0].Text) == "OK"
	}
	return len(x.Lines) > 0 && !slices.ContainsFunc(x.Lines, func(l obd.Line) bool {
		st, _ := reply.StatusOf(strings.TrimSpace(l.Text))
		return reply.FromCar(strings.TrimSpace(l.Text)) || st != nil && st.Text != "ELM"
	})
}

// isOwn reports whether a command is for the adapter itself.
func isOwn(command string) bool { return strings.HasPrefix(command, "AT") }

// Ready reports whether a command may go out now. If not, FreeCommand and NameCommand may, until the
// adapter has shown that it is free.
func (t *Terminal) Ready(command string) bool { return t.guard.ready(command) }

// Quiet reports whether the adapter has just answered a command of its own in full: it is free.
func (t *Terminal) Quiet() bool { return t.guard.quiet }

// Loses reports whether the adapter was found to lose characters, so that the car could be asked for
// something else. It is final.
func (t *Terminal) Loses() bool { return t.guard.loses }

// Led reports whether spaces lead in.
func (t *Terminal) Led() bool { return t.guard.led }

// LeadIn has spaces go before every command, or no longer.
func (t *Terminal) LeadIn(on bool) { t.guard.led = on }

// Hurry has fewer spaces lead in, or no longer.
func (t *Terminal) Hurry(on bool) { t.guard.hurry = on }
