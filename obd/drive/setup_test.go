package drive

import (
	"strings"
	"testing"
	"time"

	"judder/obd"
	"judder/pids"
	"judder/simcar"
)

// One reply that is lost or damaged while the car is found decides nothing of the drive: not who
// is asked, not what is asked, not how often.
func TestSetUp_OneReplyLost(t *testing.T) {
	nameless, ok := simcar.ProfileNamed("no-headers")
	if !ok {
		t.Fatal("no such adapter")
	}
	for name, opts := range map[string][]simcar.Option{"headers": nil, "no headers": {simcar.WithProfile(nameless)}} {
		for _, kind := range []simcar.FaultKind{simcar.LostReply, simcar.DataError} {
			usual := 0.0
			for at := time.Duration(0); at < 4*time.Second; at += 80 * time.Millisecond {
				all := append([]simcar.Option{simcar.WithECUs(simcar.EngineECU(), simcar.TransmissionECU())}, opts...)
				if at > 0 {
					all = append(all, simcar.WithFaults(simcar.Fault{Kind: kind, At: at}))
				}
				j, _ := ride(t, 12*time.Second, all...)
				r := j.rate(pids.RPM, "", 7*time.Second, 12*time.Second)
				if at == 0 {
					usual = r
				}
				if r < 0.9*usual || r > 1.1*usual || usual < 20 {
					t.Errorf("%s, %v at %v: %.1f engine-speed readings a second, %.1f as a rule", name, kind, at, r, usual)
				}
			}
		}
	}
}

// An adapter that was left showing the length of each frame in front of its data (AT D1) is told
// not to.
func TestSetUp_LengthShown(t *testing.T) {
	shown := true
	b := &badAdapter{}
	b.strike = func(command string) []string {
		shown = shown && command != "ATD0"
		return nil
	}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		line := b.engine("7E8", request)
		if shown {
			line = line[:3] + "8" + line[3:]
		}
		return []string{line}, true
	}
	if j := rideBad(t, 10*time.Second, b); j.rate(pids.RPM, "7E8", 5*time.Second, 10*time.Second) < 20 {
		show(t, j)
		t.Error("not read")
	}
}

// Replies in a layout that is none of the standards' are told as such, not as a silent car.
func TestSetUp_UnknownLayout(t *testing.T) {
	b := &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		return []string{"12345678" + b.engine("7E8", request)}, true
	}
	if j := rideBad(t, 10*time.Second, b); !told(j, "in a form that cannot be read") || told(j, "switch the ignition on") {
		show(t, j)
		t.Error("taken for a silent car")
	}
}

// What cannot be is told: with one computer, only silence at another's address proves that one can
// be asked alone.
func TestExamine_AddressWithoutEffect(t *testing.T) {
	for _, obeys := range []bool{true, false} {
		b := &badAdapter{}
		b.car = func(b *badAdapter, request string) ([]string, bool) {
			if obeys && b.header != "7DF" && b.header != "7E0" {
				return []string{"NO DATA"}, true
			}
			return []string{b.engine("7E8", request)}, true
		}
		inquireBad(t, b, func(q *Inquiry) error {
			x, err := q.Examine()
			for _, a := range x.Abilities {
				if want := map[bool]Proven{true: Works, false: Pretends}[obeys]; a.Name == "asking one computer" && a.Proven != want {
					t.Errorf("obeys %v: %v", obeys, a)
				}
			}
			return err
		})
	}
}

// A car that the adapter's own search does not find, because it follows SAE J1979-2, is found on
// every CAN.
func TestSetUp_SuccessorOnEveryCAN(t *testing.T) {
	for bus, within := range map[simcar.Protocol]time.Duration{
		simcar.CAN11at500: 15 * time.Second, simcar.CAN29at500: 18 * time.Second, simcar.CAN11at250: 35 * time.Second, simcar.CAN29at250: 40 * time.Second,
	} {
		engine := simcar.EngineECU()
		engine.OBDonUDS = true
		j, _ := ride(t, time.Minute, simcar.OnBus(bus), simcar.WithECUs(engine))
		first := time.Duration(0)
		for _, s := range j.samples {
			if s.Signal == pids.RPM {
				first = s.At
				break
			}
		}
		if t.Logf("%v: first engine speed after %v", bus, first); first == 0 || first > within {
			t.Errorf("%v: first engine speed after %v, want %v", bus, first, within)
		}
	}
}

// An adapter that starts afresh without a word while the car is found, so that replies come
// without their headers, is set up again: no computer without a name, none forgotten. So is one of
// which a computer's reply to a support map was lost alone.
func TestSetUp_SettingsLostOrOneReply(t *testing.T) {
	for _, fault := range []string{"settings", "reply"} {
		for at := 1; at <= 12; at++ {
			asked, b := 0, &badAdapter{}
			b.strike = func(command string) []string {
				if command == "ATH1" {
					b.bare = false
				}
				if strings.HasPrefix(command, "AT") {
					return nil
				}
				if asked++; asked == at && fault == "settings" {
					b.bare, b.header, b.filter = true, "7DF", ""
				}
				return nil
			}
			b.car = func(b *badAdapter, request string) ([]string, bool) {
				second := map[string]string{"0100": "7E906410080000001", "0120": "7E906412000000001", "0140": "7E906414000000000"}[request]
				first := map[string]string{"0100": "7E806410080180001", "0120": "7E806412000018001", "0140": "7E806414040000000"}[request]
				if first == "" {
					first = b.engine("7E8", request)
				} else if b.bare {
					first, second = first[5:], second[5:]
				}
				switch {
				case b.header == "7E0" || second == "":
					return []string{first}, true
				case fault == "reply" && asked == at:
					return []string{second}, true
				}
				return []string{first, second}, true
			}
			inquireBad(t, b, func(q *Inquiry) error {
				if got := strings.Join(q.ECUs(), " "); got != "7E8 7E9" && got != "7E9 7E8" {
					t.Errorf("%s lost at request %d: %q answered", fault, at, got)
				}
				for _, pid := range []byte{0x01, 0x0C, 0x31, 0x42} {
					if !q.Supports("7E8", pid) {
						t.Errorf("%s lost at request %d: %02X is forgotten", fault, at, pid)
					}
				}
				return nil
			})
		}
	}
}

// A car after SAE J1979-2 is read with its computers' names, whenever the adapter starts afresh
// while it is looked for.
func TestSetUp_SuccessorAndReset(t *testing.T) {
	for at := time.Duration(0); at < 9*time.Second; at += 200 * time.Millisecond {
		engine := simcar.EngineECU()
		engine.OBDonUDS = true
		j, _ := ride(t, 40*time.Second, simcar.WithECUs(engine), simcar.WithFaults(simcar.Fault{Kind: simcar.AdapterReset, At: at}))
		if named, all := j.rate(pids.RPM, "7E8", 30*time.Second, 40*time.Second), j.rate(pids.RPM, "", 30*time.Second, 40*time.Second); named < 20 || named != all {
			t.Errorf("started afresh at %v: %.1f engine-speed readings a second, %.1f with a name", at, all, named)
		}
	}
}

// A late reply of the car is no adapter's name, and what hangs up at once is told as such.
func TestConnect_NoName(t *testing.T) {
	x := obd.Exchange{Request: "ATI", Lines: []obd.Line{{Text: "7E806410C1A960D10AA"}, {Text: "ELM327 v1.5"}}}
	if got := versionText(&x); got != "ELM327 v1.5" {
		t.Errorf("%q", got)
	}
	b := &badAdapter{gone: true}
	onBad(t, b, func(t *testing.T, p *Poller) {
		err := p.Inquire(t.Context(), &journal{}, 5*time.Second, func(*Inquiry) error { return nil })
		if err == nil || !strings.Contains(err.Error(), "hung up") {
			t.Errorf("%v", err)
		}
	})
}
