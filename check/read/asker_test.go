package read_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/simcar"
)

// older is a car on ISO 9141-2 with two ECUs, where who has no codes is silent (SAE J1979).
func older(also script) script {
	s := script{
		"ATDPN": {"A3"}, "0100": {"10 41 00 80 18 00 00", "18 41 00 80 00 00 00"}, "010C": {"10 41 0C 00 00"},
		"0101": {"10 41 01 00 07 E5 00", "18 41 01 00 00 00 00"},
	}
	for request, replies := range also {
		s[request] = replies
	}
	return s
}

// On the older buses silence is believed for "none" only when it comes twice: a reply to either
// question counts.
func TestAsked_SilentTwice(t *testing.T) {
	none := []string{}
	for _, c := range []struct {
		name string
		car  script
		want string
	}{
		{"pending lost once", script{"07": {"10 47 07 41 00 00 00 00"}, "07 first": none}, "P0741 pending 07"},
		{"of two ECUs one lost once", script{"07": {"10 47 07 41 00 00 00 00", "18 47 07 15 00 00 00 00"}, "07 first": {"18 47 07 15 00 00 00 00"}}, "P0741 pending 07"},
		{"the other one lost the second time", script{"07": {"18 47 07 15 00 00 00 00"}, "07 first": {"10 47 07 41 00 00 00 00"}}, "P0741 pending 07"},
		{"stored lost once", script{"03": {"10 43 07 41 00 00 00 00"}, "03 first": none}, "P0741 stored 03"},
		{"one of two messages lost once", script{"07": {"10 47 03 01 03 02 03 03", "10 47 07 41 00 00 00 00"}, "07 first": {"10 47 03 01 03 02 03 03"}}, "P0301 pending 07, P0302 pending 07, P0303 pending 07, P0741 pending 07"},
		{"one of two messages of stored codes lost once", script{"03": {"10 43 03 01 03 02 03 03", "10 43 07 41 00 00 00 00"}, "03 first": {"10 43 07 41 00 00 00 00"}, "0101": {"10 41 01 04 07 E5 00", "18 41 01 00 00 00 00"}},
			"P0301 stored 03, P0302 stored 03, P0303 stored 03, P0741 stored 03"},
		{"permanent lost once", script{"0A": {"10 4A 07 41 00 00 00 00"}, "0A first": none}, "P0741 permanent 0A"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, _ := checkOf(t, older(c.car), read.Options{})
			if got := states(find(r, "10")); got != c.want || len(find(r, "10").Unread) > 0 {
				t.Errorf("%q, want %q; %v", got, c.want, find(r, "10").Lists)
			}
		})
	}
	r, asked := checkOf(t, older(nil), read.Options{})
	n := 0
	for _, a := range asked {
		if strings.HasPrefix(a, "07") {
			n++
		}
	}
	if e := find(r, "10"); n != 2 || e.Lists[check.ListPending] != check.Of(check.Read) || e.Lists[check.ListPermanent] != check.Of(check.NotSupported) {
		t.Errorf("asked %d times, %v", n, e.Lists)
	}
}

// A number of the car that lacks a line is asked for once more (ELM327 data sheet p. 42).
func TestAsked_LineOfVINLost(t *testing.T) {
	lines := []string{"10 49 02 01 00 00 00 31", "10 49 02 02 44 34 47 50", "10 49 02 03 30 30 52 35", "10 49 02 04 35 42 31 32", "10 49 02 05 33 34 35 36"}
	for lost := range lines {
		rest := slices.Delete(slices.Clone(lines), lost, lost+1)
		r, _ := checkOf(t, older(script{"0902": lines, "0902 first": rest}), read.Options{VIN: true})
		if r.VIN != "1D4GP00R55B123456" || len(find(r, "10").Unread) > 0 {
			t.Errorf("line %d lost: %q %q", lost+1, r.VIN, find(r, "10").Unread)
		}
	}
	r, _ := checkOf(t, older(script{"0902": lines[1:]}), read.Options{})
	if e := find(r, "10"); r.VIN != "" || len(e.Unread) != 1 {
		t.Errorf("%q %q", r.VIN, e.Unread)
	}
}

// A freeze frame whose first reply is lost is read; so is each part of it.
func TestAsked_FreezeLostOnce(t *testing.T) {
	whole := script{"020200": {"10 42 02 00 07 41"}, "020000": {"10 42 00 00 18 00 00 00"}, "020400": {"10 42 04 00 80"}, "020500": {"10 42 05 00 7B"}}
	for _, lost := range []string{"", "020200", "020000", "020400"} {
		car := older(whole)
		if lost != "" {
			car[lost+" first"] = []string{}
		}
		r, _ := checkOf(t, car, read.Options{})
		if f := frame(find(r, "10")); f == nil || f.Code != "P0741" || len(f.Values) != 2 || f.Cut {
			t.Errorf("%s lost once: %+v", lost, f)
		}
	}
	car := older(whole)
	delete(car, "020400")
	r, _ := checkOf(t, car, read.Options{})
	if e := find(r, "10"); !frame(e).Cut || !lacks(e.Unread, check.Item{Kind: check.ItemFreezeParameter, ID: 0x04}, check.SilentToClaim) {
		t.Errorf("%+v %q", frame(e), e.Unread)
	}
}

// A late reply for another parameter of the frame is none to the one that was asked: its frame
// number 00 looks like parameter 00 (SAE J1979 service 02).
func TestAsked_FreezeOfAnother(t *testing.T) {
	car := older(script{"020200": {"10 42 02 00 07 41"}, "020000": {"10 42 00 00 18 00 00 00"}, "020400": {"10 42 04 00 80"}, "020500": {"10 42 05 00 7B"}, "020400 first": {"10 42 00 00 18 00 00 00"}})
	r, _ := checkOf(t, car, read.Options{})
	if e := find(r, "10"); frame(e) == nil || frame(e).Cut || len(frame(e).Values) != 2 || len(e.Unread) != 0 {
		t.Errorf("%+v %q", e.Freezes, e.Unread)
	}
}

// The snapshots of a code whose reply is lost once are read as well (ISO 14229-1 service 19 04).
func TestAsked_SnapshotLostOnce(t *testing.T) {
	r, _ := checkOf(t, script{
		"0100": nil, "22F400": {"7E8 62 F4 00 00 10 00 00"}, "22F40C": {"7E8 62 F4 0C 00 00"}, "22F810": {"7E8 62 F8 10 01"},
		"1942330C1E": {"7E8 59 42 33 FF 7E 04 02 01 71 00 2F"}, "195533": {"7E8 59 55 33 FF 04"}, "1904017100FF first": {},
		"1904017100FF": {"7E8 59 04 01 71 00 2F 00 01 F4 0C 1A F8"},
	}, read.Options{})
	if e := find(r, "7E8"); len(e.Freezes) != 1 || e.FreezeState != check.Of(check.Read) || len(e.Unread) != 0 {
		t.Errorf("%+v %s %q", e.Freezes, e.FreezeState, e.Unread)
	}
}

// On CAN, too, one lost reply costs nothing (SAE J1979: each ECU answers).
func TestAsked_LostOnceOnCAN(t *testing.T) {
	for request, lists := range map[string]check.List{"03": check.ListStored, "07": check.ListPending, "0A": check.ListPermanent} {
		r, _ := checkOf(t, plain(script{request + " first": {"7E9 " + map[string]string{"03": "43 00", "07": "47 00", "0A": "4A 00"}[request]}}), read.Options{})
		if e := find(r, "7E8"); e.Lists[lists] != check.Of(check.Read) || len(e.Unread) != 0 {
			t.Errorf("%s: %v %q", request, e.Lists, e.Unread)
		}
	}
	for _, request := range []string{"010C", "0101"} {
		r, _ := checkOf(t, plain(script{request + " first": {}}), read.Options{})
		if e := find(r, "7E8"); e.Lamp == nil || r.EngineRPM == nil || len(e.Unread) != 0 {
			t.Errorf("%s: %+v", request, e)
		}
	}
}

// bare is a car with two ECUs behind an adapter that hides who answers.
func bare(also script) script {
	s := script{
		"ATH1": {"?"}, "0100": {"raw 410080180001", "raw 410080000000"}, "0120": {"raw 412000000000"}, "010C": {"raw 410C0000"},
		"0101": {"raw 41018207E500", "raw 410101000000"}, "03": {"raw 430203010302", "raw 43010715"}, "07": {"raw 47010741", "raw 4700"}, "0A": {"raw 4A010301", "raw 4A00"},
		"020200": {"raw 42020003 01", "raw 4202000000"}, "020000": {"raw 42000018000000"}, "020400": {"raw 42040080"}, "020500": {"raw 4205007B"},
		"0600": {"raw 460000000000", "raw 460000000000"}, "0900": {"raw 49000000000000", "raw 49000000000000"},
	}
	for request, replies := range also {
		s[request] = replies
	}
	return s
}

// Where replies of several ECUs come without headers and none of them can be asked alone, all
// codes are in the report, no list counts as whole, and the advice is another adapter.
func TestNameless_Mixed(t *testing.T) {
	r, _ := checkOf(t, bare(nil), read.Options{})
	e := find(r, "")
	if got := states(e); !r.Nameless || len(r.ECUs) != 1 || got != "P0301 stored 03, P0302 stored 03, P0715 stored 03, P0741 pending 07, P0301 permanent 0A" {
		t.Errorf("%v, %d ECUs: %s", r.Nameless, len(r.ECUs), got)
	}
	mixed := check.Of(check.Mixed)
	if want := (check.Lists{check.ListStored: mixed, check.ListPending: mixed, check.ListPermanent: mixed}); !maps.Equal(e.Lists, want) || e.FreezeState != mixed || !frame(e).Cut {
		t.Errorf("%v, freeze frame %v %+v", e.Lists, e.FreezeState, frame(e))
	}
	if got := rules(r); got[0] != triage.RuleNameless || slices.Contains(got, triage.RuleReadAgain) {
		t.Errorf("%v", got)
	}
	if lost := unseen(r, ""); !slices.Contains(lost, losses.UnreadCodes) || !slices.Contains(lost, losses.AnyFreeze) {
		t.Errorf("%v", lost)
	}
	whole, _ := checkOf(t, plain(script{"03": {"7E8 43 01 07 41", "7E9 43 00"}}), read.Options{})
	for _, c := range compare.Checks(whole, r).Changes {
		if c.What != compare.NotRead {
			t.Errorf("%+v", c)
		}
	}
}

// Of two ECUs without names one may support nothing of what the other does: the freeze frame and the
// test results are read all the same, and do not count as whole.
func TestNameless_MapsAddUp(t *testing.T) {
	hides, ok := simcar.ProfileNamed("no-headers")
	if !ok {
		t.Fatal("no such adapter")
	}
	for _, bus := range []simcar.Protocol{simcar.CAN29at500, simcar.KWPFast} {
		var values, tests [2]int
		for i, opts := range [][]simcar.Option{{simcar.OnBus(bus)}, {simcar.OnBus(bus), simcar.WithProfile(hides)}} {
			r, _ := run(t, read.Options{}, append(opts, simcar.WithECUs(faulty(), simcar.TransmissionECU()))...)
			e := &r.ECUs[0]
			values[i], tests[i] = len(e.Freezes[0].Values), len(e.Tests)
			if r.Nameless != (i == 1) || r.Nameless && (e.TestState.Outcome.Kind != check.Mixed || !e.Freezes[0].Cut) {
				t.Errorf("%v: nameless %v, tests %v, frame cut %v", bus, r.Nameless, e.TestState, e.Freezes[0].Cut)
			}
		}
		if values[0] != values[1] || tests[0] != tests[1] || values[0] == 0 {
			t.Errorf("%v: %d values frozen and %d test results with names, %d and %d without", bus, values[0], tests[0], values[1], tests[1])
		}
	}
}

// Of two ECUs without names one lost reply, or all, makes nothing whole, and invents nothing.
func TestNameless_Lost(t *testing.T) {
	whole, _ := checkOf(t, bare(nil), read.Options{})
	for request, replies := range bare(nil) {
		if strings.HasPrefix(request, "AT") || request == "0100" { // there the ECUs are met
			continue
		}
		for _, rest := range [][]string{{}, replies[1:], replies[:len(replies)-1]} {
			r, _ := checkOf(t, bare(script{request: rest}), read.Options{})
			e := find(r, "")
			for _, l := range check.Legislated {
				if e.Lists[l].Settled() && e.Lists[l].Kind != check.MaybeNotKept {
					t.Errorf("%s, left %q: %s %v", request, rest, l, e.Lists[l])
				}
			}
			for _, c := range e.Codes {
				if !strings.Contains(states(find(whole, "")), c.Code+" "+c.State.String()) {
					t.Errorf("%s, left %q: %s", request, rest, states(e))
				}
			}
		}
	}
}

// Behind an adapter where nobody hears the functional address once AT SH has named it, each ECU is
// asked at its own: the check finds what it finds behind any other (seen in an independent emulator
// of an adapter).
func TestAsked_FunctionalUnheard(t *testing.T) {
	adapter, ok := simcar.ProfileNamed("own-address-only")
	if !ok {
		t.Fatal("no such adapter")
	}
	for _, bus := range []simcar.Protocol{simcar.CAN11at500, simcar.CAN29at500} {
		var took [2]time.Duration
		var found [2]string
		for i, opts := range [][]simcar.Option{{simcar.OnBus(bus)}, {simcar.OnBus(bus), simcar.WithProfile(adapter)}} {
			transmission := simcar.TransmissionECU()
			transmission.Stored = simcar.Codes("P0733")
			var r *check.Report
			_, sim, err := inquire(t, func(q *inquiry.Inquiry) (err error) {
				begun := time.Now()
				r, err = read.Run(q, read.Options{})
				took[i] = time.Since(begun)
				return err
			}, append(opts, simcar.WithECUs(faulty(), transmission))...)
			if err != nil || sim.WriteAttempts() != 0 {
				t.Fatal(err, sim.WriteAttempts())
			}
			for k := range r.ECUs {
				e := &r.ECUs[k]
				found[i] += fmt.Sprintf("%s %s, frozen %d, tests %d, lists open %v; ", e.ID, states(e), len(e.Freezes), len(e.Tests), e.Lists.Unread())
			}
			found[i] += r.VIN
		}
		if found[0] != found[1] || !strings.Contains(found[1], "P0733 stored") || took[1] > 30*time.Second {
			t.Errorf("%v, %v: %s\nbehind any other, %v: %s", bus, took[1], found[1], took[0], found[0])
		}
	}
}
