package read_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/simcar"
)

// keep is a sink that remembers what was asked.
type keep struct{ asked []string }

func (k *keep) Exchange(x obd.Exchange, _ *reply.Decoded) { k.asked = append(k.asked, x.Request) }
func (k *keep) Link(obd.LinkChange)                       {}

// parked is a warm car that stands with its engine off, ignition on.
func parked(time.Duration) simcar.Condition {
	c := simcar.WarmIdle()
	c.RPM, c.SpeedKMH = 0, 0
	return c
}

// inquire runs ask against a parked car under simulated time.
func inquire(t *testing.T, ask func(*inquiry.Inquiry) error, opts ...simcar.Option) (*keep, *simcar.Sim, error) {
	t.Helper()
	return inquireAt(t, parked(0), ask, opts...)
}

func inquireAt(t *testing.T, c simcar.Condition, ask func(*inquiry.Inquiry) error, opts ...simcar.Option) (*keep, *simcar.Sim, error) {
	t.Helper()
	var sink keep
	var sim *simcar.Sim
	var err error
	synctest.Test(t, func(t *testing.T) {
		sim = simcar.New(simcar.Steady(c), opts...)
		start := time.Now()
		cfg := adapter.Config{
			Open:  func(ctx context.Context, _ int) (elm.Link, error) { return link.Over(sim.Pipe(ctx), "test"), nil },
			Bauds: []int{0}, Name: "test",
			Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		}
		err = inquiry.Run(t.Context(), cfg, &sink, time.Minute, ask)
		synctest.Wait()
	})
	return &sink, sim, err
}

func run(t *testing.T, o read.Options, opts ...simcar.Option) (*check.Report, *simcar.Sim) {
	t.Helper()
	var r *check.Report
	_, sim, err := inquire(t, func(q *inquiry.Inquiry) (err error) {
		r, err = read.Run(q, o)
		return err
	}, opts...)
	if err != nil {
		t.Fatal(err)
	}
	if n := sim.WriteAttempts(); n != 0 {
		t.Errorf("%d requests would have changed the car", n)
	}
	return r, sim
}

// faulty is an engine ECU that keeps a misfire and the converter clutch.
func faulty() *simcar.ECU {
	e := simcar.EngineECU()
	e.VIN, e.CalibrationID, e.CVN = "0TEST11A0K0000002", "SIMCAR-ENG-0001", 0xDEADBEEF
	e.Stored, e.Pending, e.Permanent = simcar.Codes("P0304", "P0741"), simcar.Codes("P0302"), simcar.Codes("P0420")
	frozen := simcar.WarmIdle()
	frozen.RPM, frozen.SpeedKMH, frozen.LoadPct = 1726, 80, 40
	e.Freeze = &simcar.Freeze{Code: simcar.Codes("P0304")[0], Condition: frozen}
	e.Misfires = []simcar.Misfire{{Average: 0, Current: 0}, {}, {}, {Average: 3, Current: 41}}
	return e
}

func find(r *check.Report, ecu string) *check.ECU {
	for i := range r.ECUs {
		if r.ECUs[i].ID == ecu {
			return &r.ECUs[i]
		}
	}
	return &check.ECU{}
}

func states(e *check.ECU) string {
	var out []string
	for _, c := range e.Codes {
		out = append(out, c.Code+" "+c.State.String()+" "+c.Service)
	}
	return strings.Join(out, ", ")
}

// Every bus gives the same codes, VIN, calibration, freeze frame and readiness; misfire
// counts where the bus carries them.
func TestRun_EveryBus(t *testing.T) {
	for bus := simcar.J1850PWM; bus <= simcar.CAN29at250; bus++ {
		t.Run(fmt.Sprint(bus), func(t *testing.T) {
			r, _ := run(t, read.Options{}, simcar.WithECUs(faulty()), simcar.OnBus(bus))
			if len(r.ECUs) != 1 {
				t.Fatalf("%d ECUs: %+v", len(r.ECUs), r)
			}
			e := &r.ECUs[0]
			want := "P0304 stored 03, P0741 stored 03, P0302 pending 07"
			if bus >= simcar.CAN11at500 { // service 0A came with CAN
				want += ", P0420 permanent 0A"
			}
			if got := states(e); got != want {
				t.Errorf("%s, want %s", got, want)
			}
			if r.VIN != "0TEST11A0K0******" || r.ModelYear != 1989 {
				t.Errorf("VIN %q, year %d", r.VIN, r.ModelYear)
			}
			if fmt.Sprint(e.Calibrations) != "[SIMCAR-ENG-0001]" || fmt.Sprint(e.CVNs) != "[DEADBEEF]" || !strings.HasPrefix(e.Name, "ECM") {
				t.Errorf("%q %v %v", e.Name, e.Calibrations, e.CVNs)
			}
			if frame(e) == nil || frame(e).Code != "P0304" || value(frame(e), "RPM") != 1726 || value(frame(e), "VSS") != 80 || frame(e).Cut || e.FreezeState != check.Of(check.Read) {
				t.Errorf("freeze frame %+v, %s", e.Freezes, e.FreezeState)
			}
			if e.Lamp == nil || !*e.Lamp || len(e.Readiness) == 0 {
				t.Errorf("lamp %v, readiness %v", e.Lamp, e.Readiness)
			}
			if len(e.Unread) > 0 || len(r.Unread) > 0 && (bus >= simcar.CAN11at500 || len(r.Unread) > 1) {
				t.Errorf("not read: %v %v", e.Unread, r.Unread)
			}
			if bus < simcar.CAN11at500 {
				if e.Lists[check.ListPermanent] != check.Of(check.NotSupported) {
					t.Errorf("lists %v", e.Lists)
				}
				return
			}
			if n := count(e, "misfire, cylinder 4", "0C"); n != 41 {
				t.Errorf("cylinder 4: %v misfires, want 41: %+v", n, e.Tests)
			}
		})
	}
}

// A second ECU that supports no tests hides none of the first's.
func TestRun_TestsOfTwo(t *testing.T) {
	r, _ := run(t, read.Options{}, simcar.WithECUs(faulty(), simcar.TransmissionECU()))
	if n := count(find(r, "7E8"), "misfire, cylinder 4", "0C"); n != 41 {
		t.Errorf("cylinder 4: %v misfires, want 41", n)
	}
	if f := frame(find(r, "7E8")); f == nil || value(f, "RPM") != 1726 {
		t.Errorf("freeze frame %+v", f)
	}
}

// frame is the first freeze frame; nil when there is none.
func frame(e *check.ECU) *check.Freeze {
	if len(e.Freezes) == 0 {
		return nil
	}
	return &e.Freezes[0]
}

func value(f *check.Freeze, signal string) float64 {
	for _, v := range f.Values {
		if string(v.Signal) == signal {
			return v.Value
		}
	}
	return -1
}

func count(e *check.ECU, monitor, test string) float64 {
	for _, r := range e.Tests {
		if text, _ := r.ID.MarshalText(); r.Monitor == monitor && strings.HasSuffix(string(text), "/"+test) {
			return r.Value
		}
	}
	return -1
}

// A car after SAE J1979-2 is recognised and read by service 19 and identifiers.
func TestRun_Successor(t *testing.T) {
	e := faulty()
	e.OBDonUDS = true
	r, _ := run(t, read.Options{VIN: true}, simcar.WithECUs(e))
	got := find(r, "7E8")
	if s := states(got); s != "P0304-00 current 19, P0741-00 current 19, P0302-00 pending 19, P0420-00 permanent 19" {
		t.Errorf("%s", s)
	}
	if frame(got) == nil || frame(got).Code != "P0304-00" || value(frame(got), "RPM") != 1726 {
		t.Errorf("freeze frame %+v; not read: %v", got.Freezes, got.Unread)
	}
	if r.VIN != "0TEST11A0K0000002" || fmt.Sprint(got.CVNs) != "[DEADBEEF]" {
		t.Errorf("VIN %q, %v", r.VIN, got.CVNs)
	}
}

// Further modules: by their own address, with reply 8 higher or as the profile says; one
// that nobody has is named as it was asked for.
func TestRun_Modules(t *testing.T) {
	brakes, _ := obd.ParseModule("760")
	body := obd.Module{Name: "body", Request: "710", Reply: "77A"}
	nobody, _ := obd.ParseModule("730")
	r, _ := run(t, read.Options{Modules: []obd.Module{brakes, body, nobody}},
		simcar.WithECUs(simcar.EngineECU(), simcar.BrakesModule(), simcar.BodyModule()))
	if s := states(find(r, "768")); s != "U0140-00 history 19, C0035-11 current 19" {
		t.Errorf("brakes: %s", s)
	}
	if s := states(find(r, "77A")); s != "U0100-87 history 19, U0121-87 history 19, U0155-00 history 19" {
		t.Errorf("body: %s", s)
	}
	detail := 0
	for i := range r.ECUs {
		for _, c := range r.ECUs[i].Codes {
			if c.Snapshot != "" && c.Extended != "" {
				detail++
			}
		}
	}
	if detail == 0 {
		t.Error("no code came with its snapshot and extended data")
	}
	if fmt.Sprint(r.NotAnswering) != "[730]" {
		t.Errorf("not answering: %v", r.NotAnswering)
	}
	if got := find(r, "7E8"); len(got.Codes) != 0 {
		t.Errorf("the engine has none: %s", states(got))
	}
	if got := rules(r); !slices.Equal(got, []check.Rule{triage.RulePresent, triage.RuleHistory, triage.RuleLostPast, triage.RuleSilent}) {
		t.Errorf("%v", got)
	}
}

// On 29-bit CAN a module is named by its address alone.
func TestRun_Modules29(t *testing.T) {
	brakes, err := obd.ParseModule("28")
	if err != nil {
		t.Fatal(err)
	}
	r, _ := run(t, read.Options{Modules: []obd.Module{brakes}}, simcar.OnBus(simcar.CAN29at500),
		simcar.WithECUs(simcar.EngineECU(), simcar.BrakesModule()))
	if s := states(find(r, "18DAF128")); s != "U0140-00 history 19, C0035-11 current 19" || len(r.NotAnswering) != 0 {
		t.Errorf("%s; not answering %v", s, r.NotAnswering)
	}
}

// What an ECU refuses, or says "wait" to for ever, is named; the rest is read.
func TestRun_Refusals(t *testing.T) {
	for _, c := range []struct {
		name    string
		refusal simcar.Refusal
		want    check.Outcome
	}{
		{"busy for ever", simcar.Refusal{Service: 0x07, Param: -1, Code: 0x21}, check.RefusedWith(0x21)},
		{"general reject", simcar.Refusal{Service: 0x07, Param: -1, Code: 0x10}, check.RefusedWith(0x10)},
		{"locked", simcar.Refusal{Service: 0x07, Param: -1, Code: 0x33}, check.RefusedWith(0x33)},
		{"waits for ever", simcar.Refusal{Service: 0x07, Param: -1, Code: 0x78, Then: time.Hour}, check.Of(check.Pending)},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := faulty()
			e.Refusals = []simcar.Refusal{c.refusal}
			r, _ := run(t, read.Options{}, simcar.WithECUs(e))
			got := find(r, "7E8")
			if s := states(got); s != "P0304 stored 03, P0741 stored 03, P0420 permanent 0A" {
				t.Errorf("%s", s)
			}
			if want := (check.Note{Item: item(check.ItemPending), Outcome: c.want}); !slices.Contains(got.Unread, want) {
				t.Errorf("not read: %s, want %s", notesText(got.Unread, r.Unread), want)
			}
		})
	}
}

// An ECU on CAN that is silent to a question that it must answer is no ECU without codes
// (SAE J1979).
func TestRun_SilentIsNotNone(t *testing.T) {
	r, _ := checkOf(t, plain(script{"03": {"7E9 43 00"}}), read.Options{})
	if e := find(r, "7E8"); e.Lists[check.ListStored] != check.Of(check.SilentNotNone) || !slices.Equal(e.Lists.Unread(), []check.List{check.ListStored}) {
		t.Errorf("%v", e.Lists)
	}
	if text, _ := pages(t, r); !strings.Contains(text, "NOT READ: stored") {
		t.Error(text)
	}
}

// An ECU that answers late, after "wait", is read.
func TestRun_PendingThenAnswer(t *testing.T) {
	e := faulty()
	e.Refusals = []simcar.Refusal{{Service: 0x03, Param: -1, Code: 0x78, Then: 900 * time.Millisecond}}
	r, _ := run(t, read.Options{}, simcar.WithECUs(e))
	if s := states(find(r, "7E8")); !strings.HasPrefix(s, "P0304 stored 03, P0741 stored 03, P0302 pending 07") {
		t.Errorf("%s; not read: %v", s, find(r, "7E8").Unread)
	}
}

// Damaged and lost replies are asked again; what stays damaged is named.
func TestRun_Faults(t *testing.T) {
	for _, kind := range []simcar.FaultKind{simcar.DamagedReply, simcar.DataError, simcar.LostReply, simcar.BufferFull, simcar.StoppedByItself} {
		e := faulty()
		r, _ := run(t, read.Options{}, simcar.WithECUs(e), simcar.WithFaults(simcar.Fault{Kind: kind, Chance: 0.05}), simcar.Seed(uint64(kind)))
		got := find(r, "7E8")
		for _, c := range got.Codes {
			if !strings.Contains("P0304 P0741 P0302 P0420", c.Code) {
				t.Errorf("fault %d: invented %s", kind, c.Code)
			}
		}
		if len(got.Codes) < 4 && len(got.Unread)+len(r.Unread) == 0 {
			t.Errorf("fault %d: %s, and nothing is named as not read", kind, states(got))
		}
	}
}

// Adapters of every kind, two ECUs: the same codes, or what is missing is named.
func TestRun_EveryAdapter(t *testing.T) {
	for _, adapter := range simcar.Profiles {
		t.Run(adapter.Name, func(t *testing.T) {
			r, _ := run(t, read.Options{}, simcar.WithECUs(faulty(), simcar.TransmissionECU()), simcar.WithProfile(adapter))
			var all []string
			unread := slices.Clone(r.Unread)
			for i := range r.ECUs {
				all = append(all, states(&r.ECUs[i]))
				unread = append(unread, r.ECUs[i].Unread...)
			}
			if got := strings.Join(all, ""); !strings.Contains(got, "P0304 stored 03, P0741 stored 03, P0302 pending 07, P0420 permanent 0A") && len(unread) == 0 {
				t.Errorf("%q, and nothing is named as not read", got)
			}
			t.Logf("%s; not read: %s", strings.Join(all, " / "), notesText(unread))
		})
	}
}

// The JSON has the fields that others rely on.
func TestReport_JSON(t *testing.T) {
	brakes, _ := obd.ParseModule("760")
	r, _ := run(t, read.Options{Modules: []obd.Module{brakes}}, simcar.WithECUs(faulty(), simcar.BrakesModule()))
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"vin":"0TEST11A0K0******"`, `"protocol":"ISO 15765-4 (CAN 11/500)"`, `"ecu":"7E8"`, `"name":"ECM-EngineControl"`,
		`"calibration_ids":["SIMCAR-ENG-0001"]`, `"calibration_verification_numbers":["DEADBEEF"]`,
		`{"code":"P0741","state":"stored","service":"03"`, `{"code":"U0140-00","state":"history","service":"19","status":"28"`, `"not_answering":[]`,
		`"rule":"misfire","codes":["P0304","P0302"],"ecus":["7E8"]`,
	} {
		if !strings.Contains(string(text), want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
}

// On the older buses tests have the maker's numbers: raw, with their limits, not
// judged.
func TestRun_LegacyTests(t *testing.T) {
	e := faulty()
	e.LegacyTests = []simcar.LegacyTest{{TID: 0x05, Component: 1, Value: 100, Limit: 300}, {TID: 0x05, Component: 2, Value: 90, Limit: 80, Minimum: true}, {TID: 0x0B, Value: 7, Limit: 9}}
	r, _ := run(t, read.Options{}, simcar.WithECUs(e), simcar.OnBus(simcar.ISO9141))
	var got []string
	for _, x := range r.ECUs[0].Tests {
		got = append(got, fmt.Sprintf("%02X/%02X %.0f %.0f-%.0f %s", x.ID.Monitor, x.ID.Test, x.Value, x.Min, x.Max, x.Outcome))
	}
	if s := strings.Join(got, ", "); s != "05/01 100 0-300 not judged, 05/02 90 80-65535 not judged, 0B/00 7 0-9 not judged" {
		t.Errorf("%s; not read %v", s, r.ECUs[0].Unread)
	}
}

// An ECU whose codes are not those of SAE J2012 gets no names that do not belong to it.
func TestRun_OtherFormat(t *testing.T) {
	brakes, module := simcar.BrakesModule(), obd.Module{Name: "760", Request: "760", Reply: "768"}
	brakes.CodeFormat = 0x02 // SAE J1939
	r, _ := run(t, read.Options{Modules: []obd.Module{module}}, simcar.WithECUs(simcar.EngineECU(), brakes))
	for _, c := range find(r, "768").Codes {
		if strings.ContainsAny(c.Code, "PCBU-") && len(c.Code) != 6 || c.Naming != check.NotNamedJ2012 || c.Format != 0x02 {
			t.Errorf("%+v", c)
		}
	}
	if n := len(find(r, "768").Codes); n != 2 {
		t.Errorf("%d codes", n)
	}
}

// Behind an adapter that hides which ECU answers, each is asked alone: the check finds what it finds
// behind any other.
func TestRun_HeadersHidden(t *testing.T) {
	adapter, ok := simcar.ProfileNamed("no-headers")
	if !ok {
		t.Fatal("no such adapter")
	}
	var found [2]string
	for i, opts := range [][]simcar.Option{nil, {simcar.WithProfile(adapter)}} {
		transmission := simcar.TransmissionECU()
		transmission.Stored = simcar.Codes("P0741", "P0733")
		r, _ := run(t, read.Options{}, append(opts, simcar.WithECUs(faulty(), transmission))...)
		if len(r.ECUs) != 2 || r.Nameless {
			t.Fatalf("%d ECUs, nameless %v", len(r.ECUs), r.Nameless)
		}
		for k := range r.ECUs {
			e := &r.ECUs[k]
			found[i] += fmt.Sprintf("%s %s: %s, %d counted, frozen %d, tests %d, self-tests %d, lists open %v; ", e.ID, e.Name, states(e), e.CodesCounted, len(e.Freezes), len(e.Tests), len(e.Readiness), e.Lists.Unread())
		}
		found[i] += r.VIN + " " + notesText(r.Unread, r.ECUs[0].Unread, r.ECUs[1].Unread)
	}
	if found[0] != found[1] {
		t.Errorf("%s\nwant\n%s", found[1], found[0])
	}
}

func mustRun(t *testing.T) *check.Report {
	t.Helper()
	r, _ := run(t, read.Options{}, simcar.WithECUs(faulty()))
	return r
}

// A freeze frame of which a part is lost says that it is not whole, and clearing names it.
func TestRun_FreezeCut(t *testing.T) {
	e := faulty()
	e.Refusals = []simcar.Refusal{{Service: 0x02, Param: 0x0C, Code: 0x10}}
	r, _ := run(t, read.Options{}, simcar.WithECUs(e))
	got := find(r, "7E8")
	if f := frame(got); f == nil || !f.Cut || value(f, "RPM") != -1 || value(f, "VSS") != 80 {
		t.Errorf("%+v", got.Freezes)
	}
	if lost := unseen(r, "7E8"); !slices.Equal(lost, []losses.Kind{losses.FreezePart}) {
		t.Errorf("unseen: %v", lost)
	}
	if lost := losses.Of(mustRun(t)); !losses.Whole(lost) {
		t.Error(page.Losses(lost))
	}
}
