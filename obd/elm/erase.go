package elm

import (
	"io"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/prose"
)

// The requests that clear: service 04 (SAE J1979), and for a car after SAE J1979-2 service 14 with
// the group of the emission-related codes (ISO 14229-1).
const (
	EraseRequest          = "04"
	EraseRequestSuccessor = "14FFFF33"
)

// erase writes a request that clears. Nothing else does: transmit refuses both, and a test reads
// the package's syntax for any other writer.
func erase(w io.Writer, g *guard, command string) error {
	if command != EraseRequest && command != EraseRequestSuccessor {
		return &RefusedError{prose.Clean(command), "only clearing is sent this way"}
	}
	if !g.ready(command) {
		return notReady(command)
	}
	_, err := w.Write([]byte(g.lead(command) + command + "\r"))
	return err
}

// Erase sends a request that clears, once, and gathers what comes as Exchange does; sent reports
// whether it may have gone out. It destroys evidence: the caller has had it confirmed by name, and
// has read that the engine stands.
func (t *Terminal) Erase(command string, wait time.Duration) (x obd.Exchange, sent bool, err error) {
	x, err = t.converse(command, wait, func() error {
		sent = t.guard.ready(command)
		return erase(t.link, &t.guard, command)
	})
	return x, sent, err
}
