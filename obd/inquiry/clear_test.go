package inquiry

import (
	"errors"
	"github.com/judder-obd/judder/obd/obdtest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/simcar"
)

// at is a car of one condition.
func at(rpm float64) simcar.CarFunc {
	return func(time.Duration) simcar.Condition {
		c := simcar.WarmIdle()
		c.RPM = rpm
		return c
	}
}

// Clearing wants the typed word and a standing engine, sends its request once, and takes no
// silence for success.
func TestInquiry_Clear(t *testing.T) {
	lost := simcar.WithFaults(simcar.Fault{Kind: simcar.LostReply, Chance: 1, At: 30 * time.Second})
	for _, c := range []struct {
		name, typed string
		rpm         float64
		successor   bool
		opts        []simcar.Option
		want        error
		writes      int
		left        int // stored codes
	}{
		{"typed and standing", ClearWord, 0, false, nil, nil, 1, 0},
		{"after SAE J1979-2", ClearWord, 0, true, nil, nil, 1, 0},
		{"not typed", "", 0, false, nil, ErrNotConfirmed, 0, 1},
		{"typed otherwise", "clear", 0, false, nil, ErrNotConfirmed, 0, 1},
		{"engine runs", ClearWord, 750, false, nil, ErrEngineRuns, 0, 1},
		{"engine speed not read", ClearWord, 0, false, []simcar.Option{lost}, ErrEngineUnknown, 0, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := simcar.EngineECU()
			e.OBDonUDS = c.successor
			e.Stored = simcar.Codes("P0741")
			wait := time.Duration(0)
			if c.opts != nil {
				wait = 40 * time.Second
			}
			sim, err := inquireCar(t, at(c.rpm), func(q *Inquiry) error {
				time.Sleep(wait)
				_, err := q.Clear(c.typed)
				return err
			}, append(c.opts, simcar.WithECUs(e))...)
			if !errors.Is(err, c.want) {
				t.Errorf("%v, want %v", err, c.want)
			}
			if n := sim.WriteAttempts(); n != c.writes || len(e.Stored) != c.left {
				t.Errorf("%d requests that clear, %d codes left; want %d, %d", n, len(e.Stored), c.writes, c.left)
			}
		})
	}
}

// A refusal by the car keeps its code; nothing is sent again.
func TestInquiry_ClearRefused(t *testing.T) {
	for _, code := range []byte{0x22, 0x78, 0x21} {
		e := simcar.EngineECU()
		e.Stored = simcar.Codes("P0741")
		e.Refusals = []simcar.Refusal{{Service: 0x04, Param: -1, Code: code, Then: time.Hour}}
		sim, err := inquireCar(t, at(0), func(q *Inquiry) error { _, err := q.Clear(ClearWord); return err }, simcar.WithECUs(e))
		var refused *ClearError
		if !errors.As(err, &refused) || code == 0x22 && refused.Others[0].Code != code {
			t.Errorf("%02X: %v", code, err)
		}
		if n := sim.WriteAttempts(); n != 1 {
			t.Errorf("%02X: sent %d times", code, n)
		}
	}
}

// An ECU that says "wait" and clears a little later (ISO 14229-1: up to 5 s) is waited
// for, without being asked again.
func TestInquiry_ClearLater(t *testing.T) {
	e := simcar.EngineECU()
	e.Stored = simcar.Codes("P0741")
	e.Refusals = []simcar.Refusal{{Service: 0x04, Param: -1, Code: 0x78, Then: 700 * time.Millisecond}}
	sim, err := inquireCar(t, at(0), func(q *Inquiry) error {
		sent, err := q.Clear(ClearWord)
		if !sent {
			t.Error("not sent")
		}
		return err
	}, simcar.WithECUs(e))
	if err != nil || len(e.Stored) != 0 || sim.WriteAttempts() != 1 {
		t.Errorf("%v, %d codes left, sent %d times", err, len(e.Stored), sim.WriteAttempts())
	}
}

// A car that is silent to it is not taken for cleared.
func TestInquiry_ClearUnanswered(t *testing.T) {
	var sim *simcar.Sim
	fault := simcar.Fault{Kind: simcar.LostReply, Chance: 1, At: 60 * time.Second}
	sim, err := inquireCar(t, at(0), func(q *Inquiry) error {
		if err := q.EngineOff(); err != nil {
			return err
		}
		time.Sleep(70 * time.Second)
		answers, _, err := q.eraseOnce("04") // as Clear does, with the reply lost
		if err == nil && slices.ContainsFunc(answers, func(a Answer) bool { return a.Outcome == Answered }) {
			t.Error("a lost reply passes for an answer")
		}
		return err
	}, simcar.WithECUs(simcar.EngineECU()), simcar.WithFaults(fault))
	if err != nil || sim.WriteAttempts() != 1 {
		t.Errorf("%v, %d requests", err, sim.WriteAttempts())
	}
}

// An adapter lost before the request to clear: nothing is sent, and what to do is said.
func TestInquiry_ClearLinkLost(t *testing.T) {
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if request == "010C" {
			return []string{"7E804410C0000"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	b.Strike = func(command string) []string {
		b.Gone = command == "ATSTFF"
		return nil
	}
	inquireBad(t, b, func(q *Inquiry) error {
		sent, err := q.Clear(ClearWord)
		if sent || err == nil || !strings.Contains(err.Error(), "nothing was cleared") || !strings.Contains(err.Error(), "clear again") {
			t.Errorf("sent %v: %v", sent, err)
		}
		return nil
	})
}

// Two ECUs behind an adapter that hides their names: one confirmation is not both.
func TestInquiry_ClearNameless(t *testing.T) {
	for _, c := range []struct {
		confirm []string
		partly  bool
	}{{[]string{"44", "44"}, false}, {[]string{"44"}, true}} {
		b := &obdtest.BadAdapter{Bare: true}
		b.Strike = func(command string) []string {
			if command == "ATH1" || strings.HasPrefix(command, "ATSH") {
				return []string{"?"}
			}
			return nil
		}
		b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			b.Bare = true
			switch request {
			case "04":
				return c.confirm, true
			case "010C":
				return []string{"410C0000", "410C0000"}, true
			case "0100":
				return []string{"410000188000", "410080180000"}, true
			}
			return []string{b.Engine("", request)}, true
		}
		inquireBad(t, b, func(q *Inquiry) error {
			_, err := q.Clear(ClearWord)
			var e *ClearError
			if c.partly != errors.As(err, &e) || c.partly && (len(e.Cleared) != 1 || len(e.Others) != 1) || !c.partly && err != nil {
				t.Errorf("%q: %v", c.confirm, err)
			}
			return nil
		})
	}
}

// Silence and a damaged reply from ECUs that have no names confirm nothing, of one ECU or of several.
func TestInquiry_ClearNamelessUnanswered(t *testing.T) {
	for _, engines := range []int{1, 2} {
		for _, answer := range []string{"NO DATA", "CAN ERROR", "4"} {
			b, erased := &obdtest.BadAdapter{}, 0
			b.Strike = func(command string) []string {
				b.Bare = true
				if command == "ATH1" || strings.HasPrefix(command, "ATSH") {
					return []string{"?"}
				}
				return nil
			}
			b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
				switch request {
				case "04":
					erased++
					return []string{answer}, true
				case "010C":
					return slices.Repeat([]string{"410C0000"}, engines), true
				case "0100":
					return slices.Repeat([]string{"410000188000"}, engines), true
				}
				return []string{b.Engine("", request)}, true
			}
			inquireBad(t, b, func(q *Inquiry) error {
				if sent, err := q.Clear(ClearWord); !sent || !errors.Is(err, ErrNotCleared) || erased != 1 {
					t.Errorf("%d ECUs, %s: sent %v, %d times; %v", engines, answer, sent, erased, err)
				}
				return nil
			})
		}
	}
}

// Where each ECU hears only its own address, the request to clear would clear one of them alone: it
// is not sent.
func TestInquiry_ClearOneByOne(t *testing.T) {
	p, _ := simcar.ProfileNamed("own-address-only")
	engine, transmission := simcar.EngineECU(), simcar.TransmissionECU()
	engine.Stored, transmission.Stored = simcar.Codes("P0741"), simcar.Codes("P0742")
	sim, err := inquireCar(t, at(0), func(q *Inquiry) error {
		sent, err := q.Clear(ClearWord)
		if sent {
			t.Error("said to be sent")
		}
		return err
	}, simcar.WithProfile(p), simcar.WithECUs(engine, transmission))
	if !errors.Is(err, ErrOneByOne) || sim.WriteAttempts() != 0 || len(engine.Stored)+len(transmission.Stored) != 2 {
		t.Errorf("%v, %d requests that change the car, %d codes left", err, sim.WriteAttempts(), len(engine.Stored)+len(transmission.Stored))
	}
}

// One lost reply at the address of all is no such adapter: the request to clear goes there, once, and
// the last thing read before it is that the engine stands.
func TestInquiry_ClearLostReplyBefore(t *testing.T) {
	var erased []string
	lost, begun, last := 0, false, ""
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		before := last
		last = request
		switch {
		case request == "04":
			erased = append(erased, b.Header+" after "+before)
			return []string{"7E80144"}, true
		case request == "010C" && b.Header == "7DF" && lost == 0 && begun:
			lost++
			return []string{"NO DATA"}, true
		case request == "010C":
			return []string{"7E804410C0000"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	inquireBad(t, b, func(q *Inquiry) error {
		begun = true
		sent, err := q.Clear(ClearWord)
		if !sent || err != nil || lost != 1 || !slices.Equal(erased, []string{"7DF after 010C"}) {
			t.Errorf("sent %v: %v; %d lost, cleared at %q", sent, err, lost, erased)
		}
		return nil
	})
}
