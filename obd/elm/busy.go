package elm

import (
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// An adapter that still waits for the car takes the first character that it is sent for "stop".
// What is left of 010C0D1 is 10 C0 D1, service 10: a request that changes the car. Two things
// keep it from happening, and guard is both.
//
// After a request that ended without a prompt, or that was taken for "stop", only AT L0 may be
// sent until the adapter answers it: what is left of that, TL0, is no request.
//
// A prompt alone does not show that an adapter is free: a reply that comes twice, or late, brings
// its own. On a simulated car one swallowed character made 1111 (ECU reset) of 01111. So spaces lead
// in every command where the adapter is seen to ignore them (ELM327 data sheet p. 9); they are what
// it swallows.

const (
	// FreeCommand is the setting that is sent to an adapter that may be busy.
	FreeCommand = "ATL0"
	// FreeTries is how often it is sent before the adapter counts as gone.
	FreeTries = 4

	leadIn      = "   "
	leadDoubted = 2 // requests in a row that the adapter does not know: some take spaces before their own commands alone
	surelyFree  = 2 // "?" in a row to its own commands; one "?" may answer the rest of a command
)

// guard knows whether the adapter may be busy with the car, and whether spaces lead in.
type guard struct {
	busy    bool
	led     bool
	unknown int // requests to the car in a row that the adapter did not know
	puzzled int // commands of its own in a row that it did not know
}

// lead is what goes before a command.
func (g *guard) lead() string {
	if g.led {
		return leadIn
	}
	return ""
}

// note takes in an exchange that is over.
func (g *guard) note(x *obd.Exchange) {
	own, worst := strings.HasPrefix(x.Request, "AT"), reply.Worst(x)
	switch {
	case !own:
		g.noteRequest(x, worst)
	case x.Ending != obd.EndPrompt || worst == reply.ActAgain || worst == reply.ActReopen:
		g.puzzled = 0
	case worst == reply.ActRefused:
		g.puzzled++
		g.busy = g.busy && g.puzzled < surelyFree
	default: // its answer, or its name
		g.busy, g.puzzled = false, 0
	}
}

func (g *guard) noteRequest(x *obd.Exchange, worst reply.Action) {
	g.busy, g.puzzled = x.Ending == obd.EndSilence || reply.Says(x, "STOPPED") || worst == reply.ActRefused, 0
	if worst != reply.ActRefused {
		g.unknown = 0
		return
	}
	if g.unknown++; g.unknown == leadDoubted {
		g.led = false
	}
}

// Busy reports whether the adapter may still be busy with a request to the car. Only FreeCommand
// may be sent then.
func (t *Terminal) Busy() bool { return t.guard.busy }

// LeadIn has spaces go before every command, or no longer.
func (t *Terminal) LeadIn(on bool) { t.guard.led = on }
