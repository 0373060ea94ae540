package read

import (
	"errors"
	"fmt"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/reply"
)

// SweepRisks are said before a sweep.
const SweepRisks = `A sweep sends "tester present", and nothing else, to every standard
diagnostic address, one by one. It takes two to three minutes. Some risks remain:
control units that are kept awake drain the battery; a gateway may count refused
requests; an old control unit may fail on a request that it does not know. Ignition
on, engine off, car standing, nobody driving; stop with control-C at any new lamp.`

// SweepGrace is how long the risks can be read before a sweep begins.
const SweepGrace = 5 * time.Second

// ErrNoSweep is a bus or an adapter with which no ECU can be asked at its own address.
var ErrNoSweep = errors.New("no sweep: it needs a CAN bus and an adapter that shows which control unit answers; this bus or this adapter does not fit")

// sweepPause keeps a sweep at five requests a second (common practice, no source).
const sweepPause = 200 * time.Millisecond

// Sweep looks for modules at the standard diagnostic addresses that did not answer yet: all
// 18DAxxF1 on 29-bit CAN, 700 to 7F7 on 11-bit CAN. The engine must stand still. It stops at
// the first sign that the bus suffers.
func Sweep(q *inquiry.Inquiry, known []string, wait func(time.Duration), progress func(address string, of, done int)) (found []obd.Module, err error) {
	if err := q.EngineOff(); err != nil {
		return nil, fmt.Errorf("no sweep: %w", err)
	}
	have := map[string]bool{}
	for _, id := range known {
		have[id] = true
	}
	list := addresses(q.Capabilities().Form)
	if list == nil {
		return nil, ErrNoSweep
	}
	var silent []obd.Module
	for i, text := range list {
		m, err := obd.ParseModule(text)
		if err != nil || have[m.Reply] || have[m.Request] {
			continue
		}
		if progress != nil {
			progress(text, len(list), i)
		}
		wait(sweepPause)
		switch there, err := present(q, m); {
		case there:
			found = append(found, m)
			have[m.Reply] = true
		case err != nil:
			return found, err
		default:
			silent = append(silent, m)
		}
	}
	for _, m := range silent {
		if q.Heard(m.Reply) { // it answered too late
			found = append(found, m)
		}
	}
	return found, nil
}

// present asks whether somebody is at an address; also who refuses, or says "wait", is there.
func present(q *inquiry.Inquiry, m obd.Module) (bool, error) {
	a, err := q.AskOnce(m, "3E00")
	if err != nil {
		return false, err
	}
	if trouble := reply.BusTrouble(a.Raw); trouble != "" {
		return false, fmt.Errorf("sweep stopped at %s: %s", m.Request, trouble)
	}
	return a.Outcome == inquiry.Answered || a.Outcome == inquiry.Declined || a.Outcome == inquiry.Pending, nil
}

// addresses are those of a sweep: on 11 bits without the functional one, 7DF, and the replies
// of ISO 15765-4.
func addresses(form obd.Form) (out []string) {
	switch form {
	case obd.FormCAN29:
		for a := range 256 {
			if a != 0xF1 { // the tester itself
				out = append(out, fmt.Sprintf("%02X", a))
			}
		}
	case obd.FormCAN11:
		for a := 0x700; a <= 0x7F7; a++ {
			if a != 0x7DF && (a < 0x7E8 || a > 0x7EF) {
				out = append(out, fmt.Sprintf("%03X", a))
			}
		}
	}
	return out
}
