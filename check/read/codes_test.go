package read_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/obd"
)

// A scripted car without faults reads as one.
func TestScript_Plain(t *testing.T) {
	r, _ := checkOf(t, plain(nil), read.Options{})
	text, _ := pages(t, r)
	if len(r.ECUs) != 2 || len(r.Unread) != 0 || len(r.ECUs[0].Unread) != 0 || !strings.Contains(text, "no codes (pending, permanent, stored)") || strings.Contains(text, "NOT READ") {
		t.Error(text)
	}
	if lost := losses.Of(r); !losses.Whole(lost) {
		t.Error(page.Losses(lost))
	}
}

// An ECU that was first heard after its stored codes were asked for did not report them
// (SAE J1979: on CAN an ECU answers even when it has none).
func TestRun_HeardLate(t *testing.T) {
	for _, at := range []string{"07", "0101", "0600"} {
		late := script{
			"07": {"7E8 47 00", "7E9 47 00", "7EA 47 00"}, "0101": {"7E8 41 01 00 07 E5 00", "7E9 41 01 00 00 00 00", "7EA 41 01 00 00 00 00"},
			"0600": {"7EA 46 00 00 00 00 00"},
		}
		r, _ := checkOf(t, plain(script{at: late[at]}), read.Options{})
		e := find(r, "7EA")
		if e.Lists[check.ListStored] != check.Of(check.SilentNotNone) || !lacks(e.Unread, item(check.ItemStored), check.SilentNotNone) || !slices.Contains(unseen(r, "7EA"), losses.UnreadCodes) {
			t.Errorf("at %s: %v %s %v", at, e.Lists, notesText(e.Unread), unseen(r, "7EA"))
		}
	}
}

// An ECU that refuses to report its codes may still have some: whatever the code of ISO
// 14229-1, the list is named, and weighed against what the readiness reply counts.
func TestRun_RefusedLists(t *testing.T) {
	for _, nrc := range []string{"11", "12", "31"} {
		r, _ := checkOf(t, plain(script{
			"03": {"7E8 7F 03 " + nrc, "7E9 43 00"}, "07": {"7E8 7F 07 " + nrc, "7E9 47 00"}, "0A": {"7E8 7F 0A " + nrc, "7E9 4A 00"},
			"0101": {"7E8 41 01 85 07 E5 00", "7E9 41 01 00 00 00 00"},
		}), read.Options{})
		e := find(r, "7E8")
		if !lacks(e.Unread, item(check.ItemStored), check.Refused) || e.Lists[check.ListPermanent] != check.Of(check.NotSupported) || losses.Whole(losses.Of(r)) {
			t.Errorf("%s: %s %v", nrc, notesText(e.Unread), e.Lists)
		}
		if open := e.Lists.Unread(); !slices.Equal(open, []check.List{check.ListPending, check.ListStored}) {
			t.Errorf("%s: not read %v", nrc, open)
		}
		if got := rules(r); !slices.Contains(got, triage.RuleRefused) || slices.Contains(got, triage.RuleReadAgain) {
			t.Errorf("%s: %v", nrc, got)
		}
	}
	r, _ := checkOf(t, plain(script{"07": {"7E8 47 00", "7E9 7F 07 11"}}), read.Options{})
	if got := rules(r); got != nil || find(r, "7E9").Lists[check.ListPending] == check.Of(check.NotSupported) {
		t.Errorf("nothing is counted there: %v", got)
	}
}

// Silence to service 0A is neither an empty list nor proof that none is kept.
func TestRun_PermanentSilent(t *testing.T) {
	r, _ := checkOf(t, plain(script{"0A": {"7E8 4A 00"}}), read.Options{})
	if e := find(r, "7E9"); e.Lists[check.ListPermanent] != check.Of(check.MaybeNotKept) {
		t.Errorf("%v", e.Lists)
	}
	if got := rules(r); got != nil {
		t.Error(got)
	}
}

// The lamp is on, all lists were read, and no code was reported; or a test result is outside its
// limits: neither is "nothing to do".
func TestTriage_WithoutCodes(t *testing.T) {
	r, _ := checkOf(t, plain(script{"0101": {"7E8 41 01 80 07 E5 00", "7E9 41 01 00 00 00 00"}}), read.Options{})
	if got := rules(r); !slices.Equal(got, []check.Rule{triage.RuleLamp}) {
		t.Error(got)
	}
	r, _ = checkOf(t, plain(script{"0600": {"7E8 46 00 80 00 00 00"}, "0601": {"7E8 46 01 01 0A 00 10 00 20 00 30"}}), read.Options{})
	if got := rules(r); !slices.Equal(got, []check.Rule{triage.RuleFailedTest}) {
		t.Errorf("%v %v", got, r.ECUs)
	}
}

// A reply that comes twice counts once.
func TestRun_ToldTwice(t *testing.T) {
	r, _ := checkOf(t, plain(script{
		"0101": {"7E8 41 01 01 07 E5 00", "7E8 41 01 01 07 E5 00", "7E9 41 01 00 00 00 00"}, "03": {"7E8 43 01 07 41", "7E9 43 00"},
		"0906": {"7E8 49 06 01 DE AD BE EF", "7E8 49 06 01 DE AD BE EF"}, "020200": {"7E8 42 02 00 07 41", "7E8 42 02 00 07 41"},
		"0600": {"7E8 46 00 00 00 00 01"}, "0620": {"7E8 46 20 80 00 00 00"}, "0621": {"7E8 46 21 01 0A 00 10 00 00 00 30", "7E8 46 21 01 0A 00 10 00 00 00 30"},
	}), read.Options{})
	if e := find(r, "7E8"); e.CodesCounted != 1 || len(e.CVNs) != 1 || len(e.Freezes) != 1 || len(e.Tests) != 1 {
		t.Errorf("%+v", e)
	}
}

// What an ECU claims to report and does not is named: a monitor, a map of monitors, the VIN.
// Clearing takes what was not read unseen.
func TestRun_ClaimedAndSilent(t *testing.T) {
	silent, refused, damaged := check.Of(check.SilentToClaim), check.RefusedWith(0x12), check.Of(check.Damaged)
	monitor01, map20 := check.Item{Kind: check.ItemMonitor, ID: 0x01}, check.Item{Kind: check.ItemTestMap, ID: 0x20}
	for _, c := range []struct {
		name   string
		car    script
		ecu    string
		want   check.Note
		unseen bool
	}{
		{"a monitor", script{"0600": {"7E8 46 00 80 00 00 00"}}, "7E8", check.Note{Item: monitor01, Outcome: silent}, true},
		{"a map", script{"0600": {"7E8 46 00 00 00 00 01"}}, "7E8", check.Note{Item: map20, Outcome: silent}, true},
		{"the VIN", script{"0900": {"7E8 49 00 40 00 00 00"}}, "7E8", check.Note{Item: item(check.ItemVIN), Outcome: silent}, false},
		{"the name", script{"0900": {"7E8 49 00 00 40 00 00"}}, "7E8", check.Note{Item: item(check.ItemName), Outcome: silent}, false},
		{"a monitor refused", script{"0600": {"7E8 46 00 80 00 00 00"}, "0601": {"7E8 7F 06 12"}}, "7E8", check.Note{Item: monitor01, Outcome: refused}, true},
		{"a map refused", script{"0600": {"7E8 46 00 00 00 00 01"}, "0620": {"7E8 7F 06 12"}}, "7E8", check.Note{Item: map20, Outcome: refused}, true},
		{"the VIN refused", script{"0900": {"7E8 49 00 40 00 00 00"}, "0902": {"7E8 7F 09 12"}}, "7E8", check.Note{Item: item(check.ItemVIN), Outcome: refused}, false},
		{"a damaged counter", script{"0600": {"7E8 46 00 80 00 00 00"}, "0601": {"damaged 7E8 10 13 46 01 0B 24 00 0"}}, "", check.Note{Item: monitor01, Outcome: damaged}, true},
		{"damaged maps", script{"0600": {"damaged 7E8 06 46 0"}}, "", check.Note{Item: item(check.ItemTestMap), Outcome: damaged}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, _ := checkOf(t, plain(c.car), read.Options{})
			got := map[string][]check.Note{"": r.Unread}
			for _, e := range r.ECUs {
				got[e.ID] = e.Unread
			}
			for ecu, notes := range got {
				if ecu == c.ecu && !slices.Equal(notes, []check.Note{c.want}) || ecu != c.ecu && len(notes) > 0 {
					t.Errorf("%s not read: %s; want %s", ecu, notesText(notes), c.want)
				}
			}
			if slices.Contains(unseen(r, "7E8"), losses.AnyTests) != c.unseen {
				t.Errorf("unseen: %v", unseen(r, "7E8"))
			}
		})
	}
}

// The number of the car stands nowhere in the report unless it was asked for, from whichever
// reply it came; a snapshot (ISO 14229-1 service 19 04) may hold it as identifier F190.
func TestRun_VINHidden(t *testing.T) {
	const vin, other = "30 54 45 53 54 31 31 41 30 4B 30 30 30 30 30 30 32", "30 54 45 53 54 32 32 41 30 4B 30 30 30 30 30 30 37"
	car := plain(script{
		"0902": {"7E8 49 02 01 " + vin, "7E9 49 02 01 " + other}, "0904": {"7E8 49 04 01 53 49 4D 43 41 52 2D 45 4E 47 2D 30 30 30 31 00"},
		"760/19022F": {"768 59 02 FF C1 40 87 2F"}, "760/19012F": {"768 59 01 FF 00 00 01"},
		"760/1904C14087FF": {"768 59 04 C1 40 87 2F 01 01 F1 90 " + other}, "760/1906C14087FF": {"768 59 06 C1 40 87 2F 01 " + vin},
		"760/22F190": {"768 62 F1 90 " + other}, "760/22F187": {"768 62 F1 87 " + vin},
	})
	m, err := obd.ParseModule("760")
	if err != nil {
		t.Fatal(err)
	}
	for _, shown := range []bool{false, true} {
		r, _ := checkOf(t, car, read.Options{VIN: shown, Modules: []obd.Module{m}})
		text, inJSON := pages(t, r)
		if find(r, "768").Codes[0].Snapshot == "" || find(r, "768").Codes[0].Extended == "" || find(r, "768").PartNumber == "" || find(r, "768").Calibrations != nil {
			t.Errorf("%+v", find(r, "768"))
		}
		for _, page := range []string{text, inJSON} {
			hidden := true
			for _, end := range []string{"000002", "000007", "303030303032", "303030303037"} {
				hidden = hidden && !strings.Contains(page, end)
			}
			if hidden == shown {
				t.Errorf("VIN %v:\n%s", shown, page)
			}
		}
		if !strings.Contains(text, "SIMCAR-ENG-0001") {
			t.Error(text)
		}
	}
}

// All that the map of a freeze frame claims is asked, also what shows little of the drive; what
// this table does not know is named. Layout: SAE J1979, service 02.
func TestFreeze_AllThatIsClaimed(t *testing.T) {
	car := plain(script{
		"020200": {"7E8 42 02 00 07 41", "7E9 42 02 00 00 00"}, "020000": {"7E8 42 00 00 10 40 00 01"}, "022000": {"7E8 42 20 00 80 00 00 01"},
		"024000": {"7E8 42 40 00 00 00 00 01"}, "026000": {"7E8 42 60 00 00 00 00 01"}, "028000": {"7E8 42 80 00 00 00 00 01"},
		"02A000": {"7E8 42 A0 00 00 00 00 01"}, "02C000": {"7E8 42 C0 00 00 00 00 01"}, "02E000": {"7E8 42 E0 00 00 00 00 02"},
		"020400": {"7E8 42 04 00 80"}, "020A00": {"7E8 42 0A 00 64"}, "022100": {"7E8 42 21 00 00 10"}, "02FF00": {"7E8 42 FF 00 01"},
	})
	r, _ := checkOf(t, car, read.Options{})
	f := find(r, "7E8").Freezes[0]
	var values []string
	for _, v := range f.Values {
		values = append(values, fmt.Sprintf("%s %g", v.Name, v.Value))
	}
	if got := strings.Join(values, ", "); len(f.Values) != 3 || !strings.Contains(got, " 300") || !strings.Contains(got, " 16") {
		t.Errorf("%s", got)
	}
	if unread := find(r, "7E8").Unread; f.Cut || !lacks(unread, check.Item{Kind: check.ItemFreezeParameter, ID: 0xFF}, check.MeaningUnknown) {
		t.Errorf("not whole %v, %s", f.Cut, notesText(unread))
	}
}
