package session

import (
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/refusal"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/recording"
)

// askedCar plays the exchanges of a drive: engine speed is answered ten times a second, and each
// second TCC_SLIP (7E1, 4D01) and TCC_WANT (7E1, 4D02) are asked of the transmission's ECU.
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
func TestMissing(t *testing.T) {
	var none Missing
	good := func(id string) string { return "7E9 05 62 " + id[:2] + " " + id[2:] + " 00 50" }
	for name, c := range map[string]struct {
		form   obd.Form
		answer func(second int, request string) string
		live   Missing // of TCC_SLIP while the drive goes on; none for nothing
		end    Missing
	}{
		"answered":     {obd.FormCAN11, func(_ int, id string) string { return good(id) }, none, none},
		"refused":      {obd.FormCAN11, func(int, string) string { return "7E9 03 7F 22 31 00 00 00 00" }, Missing{Way: MissingRefused, Refusal: 0x31}, Missing{Way: MissingRefused, Refusal: 0x31}},
		"never answer": {obd.FormCAN11, func(int, string) string { return "NO DATA" }, Missing{Way: MissingSilent}, Missing{Way: MissingSilent}},
		"too short":    {obd.FormCAN11, func(_ int, id string) string { return "7E9 04 62 " + id[:2] + " " + id[2:] + " 00" }, Missing{Way: MissingMisfits}, Missing{Way: MissingMisfits}},
		"stopped": {obd.FormCAN11, func(s int, id string) string {
			if s < 4 {
				return good(id)
			}
			return "NO DATA"
		}, Missing{Way: MissingStopped}, Missing{Way: MissingStopped}},
		"one of ten lost": {obd.FormCAN11, func(s int, id string) string {
			if s == 9 {
				return "NO DATA"
			}
			return good(id)
		}, none, none},
		"not asked":   {obd.FormCAN11, nil, none, Missing{Way: MissingNotAsked}},
		"no way to":   {obd.FormKLine, nil, Missing{Way: MissingNoWay}, Missing{Way: MissingNoWay}},
		"refused now": {obd.FormCAN11, func(s int, id string) string { return [...]string{good(id), "7E9 03 7F 22 22"}[min(s/4, 1)] }, Missing{Way: MissingRefused, Refusal: 0x22}, Missing{Way: MissingRefused, Refusal: 0x22}},
	} {
		a := askedCar(t, slipProfile, c.form, 10, c.answer)
		check := func(when string, list []Missing, want Missing) {
			if want == none {
				if len(list) != 0 {
					t.Errorf("%s, %s: %+v", name, when, list)
				}
				return
			}
			if len(list) != 2 || list[0].Signal != "TCC_SLIP" || list[0].Module != "7E1" || list[0].Identifier != 0x4D01 || list[0].Way != want.Way || list[0].Refusal != want.Refusal {
				t.Errorf("%s, %s: %+v, want %+v", name, when, list, want)
			}
		}
		check("live", a.missing.list(), c.live)
		a.Finish()
		check("at the end", a.Result().Missing, c.end)
	}
}

// No parameter is missing that others gave at another address, nor in a silence in which the
// engine was silent as well, nor without a profile.
func TestMissing_NotBlamed(t *testing.T) {
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
		if list := a.missing.list(); len(list) != 0 {
			t.Errorf("%s: %+v", name, list)
		}
		a.Finish()
		if list := a.Result().Missing; len(list) != 0 {
			t.Errorf("%s, at the end: %+v", name, list)
		}
	}
	a := askedCar(t, slipProfile, obd.FormCAN11, 10, func(int, string) string { return "7E9 03 7F 22 31" })
	if list := a.missing.list(); len(list) != 2 || list[0].Since > 2*time.Second || list[0].Asked != 10 {
		t.Errorf("since the first refusal: %+v", list)
	}
}

// A refusal comes with what it means and asks for; the codes are those of ISO 14229-1, Annex A.
func TestMissing_Todo(t *testing.T) {
	for code, profile := range map[byte]bool{0x31: true, 0x13: false, 0x33: false, 0xF3: true} {
		means, do := refusal.Parts(code)
		if profile { // it does not have the identifier, or nothing is known: look at the profile
			do = missingWords[MissingRefused].todo
		}
		m := Missing{Refusal: code, Way: MissingRefused}
		if _, todo := m.Words(); todo != means+"; "+do {
			t.Errorf("%02X: %q, want %q and %q", code, todo, means, do)
		}
	}
}

// A replay knows what of the whole recording was not read, and lists it from its first request on.
func TestMissing_InAReplay(t *testing.T) {
	r := &Replay{whole: &Result{Duration: time.Minute, Missing: []Missing{{Signal: "SLIP", Since: 9 * time.Second}}}, entries: []recording.Entry{recording.Felt(time.Minute)}}
	r.rewind()
	if s := stateOf(r); len(s.Replay.Missing) != 1 || len(s.Missing) != 0 {
		t.Errorf("%+v, by now %+v", s.Replay.Missing, s.Missing)
	}
	r.at = 9 * time.Second
	if s := stateOf(r); len(s.Replay.Missing) != 1 || len(s.Missing) != 1 {
		t.Errorf("%+v, by now %+v", s.Replay.Missing, s.Missing)
	}
}

// A late reply to an earlier request is no answer that does not fit the profile.
func TestMissing_LateReply(t *testing.T) {
	p, err := vehicle.ParseProfile("test.toml", []byte(slipProfile))
	if err != nil {
		t.Fatal(err)
	}
	a := NewAnalysis(p)
	at := time.Duration(0)
	put := func(request string, lines ...string) {
		x := obd.Exchange{Sent: at, Request: request, Done: at + 100*time.Millisecond, Form: obd.FormCAN11}
		for _, l := range lines {
			x.Lines = append(x.Lines, obd.Line{At: x.Done, Text: l})
		}
		e := recording.OfExchange(x)
		a.Take(&e)
		at += 200 * time.Millisecond
	}
	for range 2 * missingAfter {
		put("ATSH7E1", "OK")
		put("010C", "NO DATA")
		put("010D", "7E8 03 41 0D 32 00 00 00 00")
		put("224D01", "7E8 04 41 0C 1A F8 00 00 00", "NO DATA")
	}
	if list := a.missing.list(); len(list) != 1 || list[0].Way != MissingSilent {
		t.Errorf("%+v", list)
	}
}
