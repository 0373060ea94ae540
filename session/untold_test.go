package session

import (
	"testing"
	"time"

	"judder/obd"
	"judder/pids/vehicle"
	"judder/session/recording"
)

// askedCar plays the exchanges of a drive: engine speed is answered ten times a second, and each
// second TCC_SLIP (7E1, 4D01) and TCC_WANT (7E1, 4D02) are asked of the transmission computer.
func askedCar(t *testing.T, profile string, form obd.Form, seconds int, answer func(second int, request string) string) *Analysis {
	t.Helper()
	p, err := vehicle.ParseProfile("test.toml", []byte(profile))
	if err != nil {
		t.Fatal(err)
	}
	a := NewAnalysis(p)
	at := time.Duration(0)
	put := func(request, reply string) {
		x := obd.Exchange{Sent: at, Request: request, Done: at + 10*time.Millisecond, Form: form}
		if reply != "" {
			x.Lines = []obd.Line{{At: at + 5*time.Millisecond, Text: reply}}
		}
		e := recording.OfExchange(x)
		a.Take(&e)
		at += 10 * time.Millisecond
	}
	for s := range seconds {
		at = time.Duration(s) * time.Second
		put("ATSH7E0", "OK")
		for range 10 {
			put("010C1", map[obd.Form]string{obd.FormCAN11: "7E8 04 41 0C 1A F8 00 00 00", obd.FormKLine: "48 6B 10 41 0C 1A F8 22"}[form])
		}
		if answer == nil {
			continue
		}
		put("ATSH7E1", "OK")
		put("224D01", answer(s, "4D01"))
		put("224D021", answer(s, "4D02"))
	}
	return a
}

// The refusals are those of ISO 14229-1: 7F, the service, and why.
func TestUntold(t *testing.T) {
	good := func(id string) string { return "7E9 05 62 " + id[:2] + " " + id[2:] + " 00 50" }
	for name, c := range map[string]struct {
		form   obd.Form
		answer func(second int, request string) string
		live   string // of TCC_SLIP while the drive goes on; "" for nothing
		end    string
	}{
		"answered":     {obd.FormCAN11, func(_ int, id string) string { return good(id) }, "", ""},
		"refused":      {obd.FormCAN11, func(int, string) string { return "7E9 03 7F 22 31 00 00 00 00" }, "the car refused it (7F 22 31)", "the car refused it (7F 22 31)"},
		"never answer": {obd.FormCAN11, func(int, string) string { return "NO DATA" }, "never answered", "never answered"},
		"too short":    {obd.FormCAN11, func(_ int, id string) string { return "7E9 04 62 " + id[:2] + " " + id[2:] + " 00" }, "the answer does not fit the profile", "the answer does not fit the profile"},
		"stopped": {obd.FormCAN11, func(s int, id string) string {
			if s < 4 {
				return good(id)
			}
			return "NO DATA"
		}, "no longer answered", "no longer answered"},
		"one of ten lost": {obd.FormCAN11, func(s int, id string) string {
			if s == 9 {
				return "NO DATA"
			}
			return good(id)
		}, "", ""},
		"not asked":   {obd.FormCAN11, nil, "", "not asked before the drive ended"},
		"no way to":   {obd.FormKLine, nil, "not possible with this bus or adapter", "not possible with this bus or adapter"},
		"refused now": {obd.FormCAN11, func(s int, id string) string { return [...]string{good(id), "7E9 03 7F 22 22"}[min(s/4, 1)] }, "the car refused it (7F 22 22)", "the car refused it (7F 22 22)"},
	} {
		a := askedCar(t, slipProfile, c.form, 10, c.answer)
		check := func(when string, list []Untold, want string) {
			if want == "" {
				if len(list) != 0 {
					t.Errorf("%s, %s: %+v", name, when, list)
				}
				return
			}
			if len(list) != 2 || list[0].Signal != "TCC_SLIP" || list[0].Module != "7E1" || list[0].Identifier != 0x4D01 || list[0].Why != want {
				t.Errorf("%s, %s: %+v, want %q", name, when, list, want)
			}
		}
		check("live", a.untold.list(), c.live)
		a.Finish()
		check("at the end", a.Result().Untold, c.end)
	}
}

// Nothing is told of a parameter that others gave at another address, of silence in which the
// engine was silent as well, nor without a profile.
func TestUntold_NotBlamed(t *testing.T) {
	p, err := vehicle.ParseProfile("test.toml", []byte(slipProfile))
	if err != nil {
		t.Fatal(err)
	}
	for name, profile := range map[string]*vehicle.Profile{"a lost car": p, "no profile": nil} {
		a := NewAnalysis(profile)
		for i, request := range []string{"ATSH7E1", "224D01", "010C", "224D01", "010C", "224D01", "010C", "224D01"} {
			e := recording.OfExchange(obd.Exchange{Sent: time.Duration(i) * time.Second, Request: request, Form: obd.FormCAN11})
			a.Take(&e)
		}
		if list := a.untold.list(); len(list) != 0 {
			t.Errorf("%s: %+v", name, list)
		}
		a.Finish()
		if list := a.Result().Untold; len(list) != 0 {
			t.Errorf("%s, at the end: %+v", name, list)
		}
	}
	a := askedCar(t, slipProfile, obd.FormCAN11, 10, func(int, string) string { return "7E9 03 7F 22 31" })
	if list := a.untold.list(); len(list) != 2 || list[0].Since > 2*time.Second || list[0].Asked != 10 {
		t.Errorf("since the first refusal: %+v", list)
	}
}

// What a refusal means and asks for is told with it; the codes are those of ISO 14229-1, Annex A.
func TestUntold_Todo(t *testing.T) {
	for code, want := range map[byte]string{
		0x31: "it does not have what was asked for; check module and identifier in the profile",
		0x13: "wrong length or format; the adapter may have cut the request",
		0x33: "locked: security access is needed; judder does not unlock",
		0xF3: "code F3; check module and identifier in the profile",
	} {
		p := parameterWatch{Untold: Untold{Refusal: code}, way: wayRefused}
		if _, todo := p.words(); todo != want {
			t.Errorf("%02X: %q, want %q", code, todo, want)
		}
	}
}

// A replay knows what of the whole recording was not read, and lists it from its first request on.
func TestUntold_InAReplay(t *testing.T) {
	r := &Replay{whole: Result{Duration: time.Minute, Untold: []Untold{{Signal: "SLIP", Since: 9 * time.Second}}}, entries: []recording.Entry{recording.Felt(time.Minute)}}
	r.rewind()
	if s := stateOf(r); len(s.Replay.Untold) != 1 || len(s.Untold) != 0 {
		t.Errorf("%+v, by now %+v", s.Replay.Untold, s.Untold)
	}
	r.at = 9 * time.Second
	if s := stateOf(r); len(s.Replay.Untold) != 1 || len(s.Untold) != 1 {
		t.Errorf("%+v, by now %+v", s.Replay.Untold, s.Untold)
	}
}
