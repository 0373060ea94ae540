package read_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/check/triage"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/simcar"
)

func module(t *testing.T, address string) []obd.Module {
	t.Helper()
	m, err := read.ParseModule(address)
	if err != nil {
		t.Fatal(err)
	}
	return []obd.Module{m}
}

// The format that service 19 01 reports is of the codes of service 19 alone; codes of service 03
// keep their names (ISO 14229-1, SAE J1979).
func TestModule_FormatIsOfItsOwnList(t *testing.T) {
	for format, want := range map[string]string{
		"00": "P0741 stored 03, U0140-87 current 19", "01": "P0741 stored 03, U0140-87 current 19", "02": "P0741 stored 03, C14087 current 19",
	} {
		r, _ := checkOf(t, plain(script{"03": {"7E8 43 01 07 41", "7E9 43 00"}, "7E0/19022F": {"7E8 59 02 FF C1 40 87 2F"}, "7E0/19012F": {"7E8 59 01 FF " + format + " 00 01"}}),
			read.Options{Modules: module(t, "7E0")})
		e := find(r, "7E8")
		if got := states(e); got != want || !strings.Contains(e.Codes[0].Text, "converter clutch") || e.Codes[0].Naming != "" {
			t.Errorf("format %s: %s, %+v", format, got, e.Codes)
		}
		if unsure := e.Codes[1].Naming == check.NamedByMaker; unsure != (format == "01") {
			t.Errorf("format %s: %q", format, e.Codes[1].Text)
		}
	}
}

// A mask of 00 drops no code; which bits it makes meaningless is said.
func TestModule_MaskZero(t *testing.T) {
	r, _ := checkOf(t, plain(script{"760/19022F": {"768 59 02 00 C1 40 87 00 40 35 11 2F"}}), read.Options{Modules: module(t, "760")})
	e := find(r, "768")
	if states(e) != "U0140-87 untested 19, C0035-11 untested 19" || !lacks(e.Unread, item(check.ItemStatus), check.NoStatusBits) || !slices.ContainsFunc(r.Triage, func(a check.Advice) bool { return a.Rule == triage.RulePresent && slices.Contains(a.Codes, "C0035-11") }) {
		t.Errorf("%s %s %+v", states(e), notesText(e.Unread), r.Triage)
	}
}

// Of more codes than details are asked of, the rest is counted; details that did not come are named.
func TestModule_Details(t *testing.T) {
	list, car := "768 59 02 FF", script{}
	for i := range 23 {
		list += fmt.Sprintf(" C1 %02X 87 2F", i)
		car[fmt.Sprintf("760/1904C1%02X87FF", i)] = []string{fmt.Sprintf("768 59 04 C1 %02X 87 2F", i)}
		car[fmt.Sprintf("760/1906C1%02X87FF", i)] = []string{"768 7F 19 31"}
	}
	delete(car, "760/1904C10087FF")
	car["760/19012F"], car["760/22F190"] = []string{"768 59 01 FF 00 00 17"}, []string{"768 7F 22 31"}
	car["760/19022F"], car["760/22F187"] = []string{list}, []string{"768 62 F1 87 41 42 43"}
	r, asked := checkOf(t, plain(car), read.Options{Modules: module(t, "760")})
	e := find(r, "768")
	want := []check.Note{
		{Item: check.Item{Kind: check.ItemDetail, ID: 0x04, Name: "U0100-87"}, Outcome: check.Of(check.Silent)},
		{Item: check.Item{Kind: check.ItemDetailsAfter, Name: "U0113-87"}, Outcome: check.Outcome{Kind: check.TooMany, N: 3, Of: 20}},
	}
	if !slices.Equal(e.Unread, want) {
		t.Error(notesText(e.Unread))
	}
	if e.PartNumber != "ABC" || e.Calibrations != nil {
		t.Errorf("%q %q", e.PartNumber, e.Calibrations)
	}
	vin, detail := 0, 0
	for i, a := range asked {
		if strings.HasPrefix(a, "22F190") {
			vin = i
		} else if strings.HasPrefix(a, "1904") && detail == 0 {
			detail = i
		}
	}
	if vin == 0 || vin > detail {
		t.Errorf("the number is asked at %d, the first detail, which may hold it, at %d", vin, detail)
	}
}

// An ECU that does not know service 19 is not to be asked again.
func TestModule_KnowsNoService19(t *testing.T) {
	r, _ := checkOf(t, plain(script{"760/19022F": {"768 7F 19 11"}}), read.Options{Modules: module(t, "760")})
	if got := rules(r); !slices.Equal(got, []check.Rule{triage.RuleRefused}) {
		t.Error(got)
	}
	r, _ = checkOf(t, plain(script{"760/19022F": {"768 7F 19 22"}}), read.Options{Modules: module(t, "760")})
	if got := rules(r); !slices.Contains(got, triage.RuleReadAgain) {
		t.Error(got)
	}
}

// ISO 15765-4: everybody is asked at 7DF, replies come at 7E8 to 7EF.
func TestParseModule(t *testing.T) {
	for text, want := range map[string]string{
		"7E8": "give 7E0", "7ea": "give 7E2", "7EF": "give 7E7", "7DF": "such as 760", "F1": "tester's own", "7E0": "", "760": "", "28": "", "76G": "hex digits",
	} {
		_, err := read.ParseModule(text)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// Every record of a snapshot is read; an ECU that does not answer for its snapshots may have
// some (SAE J1979-2, ISO 14229-1).
func TestRun_SuccessorSnapshots(t *testing.T) {
	car := func(also script) script {
		s := script{
			"0100": nil, "22F400": {"7E8 62 F4 00 00 10 00 00"}, "22F40C": {"7E8 62 F4 0C 00 00"}, "22F810": {"7E8 62 F8 10 01"},
			"1942330C1E": {"7E8 59 42 33 FF 7E 04 02 01 71 00 2F"}, "195533": {"7E8 59 55 33 FF 04"},
			"1904017100FF": {"7E8 59 04 01 71 00 2F 00 01 F4 0C 1A F8 F0 01 F4 0D 50"},
		}
		for k, v := range also {
			s[k] = v
		}
		return s
	}
	r, _ := checkOf(t, car(nil), read.Options{})
	e := find(r, "7E8")
	if len(e.Freezes) != 2 || e.Freezes[1].Record != 0xF0 || value(&e.Freezes[1], "VSS") != 80 || e.FreezeState != check.Of(check.Read) {
		t.Errorf("%+v %+v %+v", e.Freezes, e.Codes, r.Unread)
	}
	r, _ = checkOf(t, car(script{"1904017100FF": nil}), read.Options{})
	e = find(r, "7E8")
	if e.FreezeState != check.Of(check.SilentNotNone) || !lacks(e.Unread, check.Item{Kind: check.ItemFreeze, Name: "P0171-00"}, check.SilentNotNone) || !slices.Contains(unseen(r, "7E8"), losses.AnyFreeze) {
		t.Errorf("%v %s %v", e.FreezeState, notesText(e.Unread), unseen(r, "7E8"))
	}
}

// A byte that no list names is shown by its number.
func TestRun_UnknownRegulation(t *testing.T) {
	r, _ := checkOf(t, plain(script{"0100": {"7E8 41 00 80 18 00 11"}, "011C": {"7E8 41 1C C8"}}), read.Options{})
	if got := find(r, "7E8").Regulation; !strings.Contains(got, "200") {
		t.Errorf("%q", got)
	}
}

// A bus without addresses of single ECUs is not swept, and the reason is given.
func TestSweep_OlderBus(t *testing.T) {
	_, _, err := inquire(t, func(q *inquiry.Inquiry) error {
		_, err := read.Sweep(q, q.ECUs(), time.Sleep, nil)
		return err
	}, simcar.OnBus(simcar.ISO9141))
	if !errors.Is(err, read.ErrNoSweep) {
		t.Error(err)
	}
}

// Where no single ECU can be asked, no flag is advised that would ask it.
func TestReport_OlderBus(t *testing.T) {
	r, _ := run(t, read.Options{}, simcar.OnBus(simcar.ISO9141))
	if text, _ := pages(t, r); strings.Contains(text, "--sweep") || !r.OlderBus {
		t.Error(text)
	}
}

// Who says "wait" (7F 3E 78, ISO 14229-1) is there.
func TestSweep_Wait(t *testing.T) {
	slow := simcar.BrakesModule()
	slow.Refusals = []simcar.Refusal{{Service: 0x3E, Param: -1, Code: 0x78, Again: -1, Then: time.Second}}
	var found []obd.Module
	_, _, err := inquire(t, func(q *inquiry.Inquiry) (err error) {
		found, err = read.Sweep(q, q.ECUs(), time.Sleep, nil)
		return err
	}, simcar.WithECUs(simcar.EngineECU(), slow))
	if err != nil || len(found) != 1 || found[0].Request != "760" {
		t.Errorf("%v, %v", found, err)
	}
}

// After a sweep that found nobody the report does not say that nobody was asked.
func TestReport_Swept(t *testing.T) {
	for _, swept := range []bool{false, true} {
		r, _ := checkOf(t, plain(nil), read.Options{Swept: swept})
		if text, _ := pages(t, r); strings.Contains(text, "were not asked") == swept || strings.Contains(text, "none answered") != swept {
			t.Errorf("swept %v:\n%s", swept, text)
		}
	}
}

// What the adapter says of a bus that suffers is no answer of a module.
func TestModule_BusTrouble(t *testing.T) {
	r, _ := checkOf(t, plain(script{"760/19022F": {"damaged CAN ERROR"}}), read.Options{Modules: module(t, "760")})
	if len(r.Modules) != 1 || r.Modules[0].Answered || fmt.Sprint(r.NotAnswering) != "[760]" || !lacks(r.Unread, check.Item{Kind: check.ItemModule, Name: "760"}, check.Worded) {
		t.Errorf("%+v %q %s", r.Modules, r.NotAnswering, notesText(r.Unread))
	}
}

// Where the format of the codes could not be asked, their names are not sure;
// one that only refuses the question has the usual one (ISO 14229-1).
func TestModule_FormatNotTold(t *testing.T) {
	for answer, unsure := range map[string]bool{"768 7F 19 22": true, "768 7F 19 12": false, "": true, "768 59 01 FF 04 00 01": false} {
		car := script{"760/19022F": {"768 59 02 FF 07 41 03 2F"}}
		if answer != "" {
			car["760/19012F"] = []string{answer}
		}
		r, _ := checkOf(t, plain(car), read.Options{Modules: module(t, "760")})
		e := find(r, "768")
		if got := e.Codes[0].Naming == check.NamedUnknown; got != unsure || e.Missing(check.ItemFormat) != unsure {
			t.Errorf("%q: %+v %s", answer, e.Codes, notesText(e.Unread))
		}
	}
}

// A code that failed once and is neither pending nor stored, and one of an ECU that keeps no
// such bit, are shown as such: no list that holds one is empty.
func TestModule_NoStateIsNoSilence(t *testing.T) {
	for reply, want := range map[string]string{
		"768 59 02 0B 07 41 00 02": "P0741-00 untested 19", "768 59 02 FF 07 41 00 20": "P0741-00 untested 19", "768 59 02 80 07 41 00 89": "P0741-00 untested 19",
	} {
		r, _ := checkOf(t, plain(script{"760/19022F": {reply}}), read.Options{Modules: module(t, "760")})
		if got := states(find(r, "768")); got != want {
			t.Errorf("%s: %q, want %q", reply, got, want)
		}
	}
}

// An ECU that counts more codes than it listed has not reported its whole list, even an empty one
// (ISO 14229-1 service 19: 01 counts what 02 lists).
func TestModule_CountsMore(t *testing.T) {
	for _, c := range []struct {
		list, count []string
		want        check.Outcome
	}{
		{[]string{"768 59 02 FF"}, []string{"768 59 01 FF 00 00 03"}, check.Outcome{Kind: check.FewerListed, N: 0, Of: 3}},
		{[]string{"768 59 02 FF C1 40 87 2F"}, []string{"768 59 01 FF 00 00 05"}, check.Outcome{Kind: check.FewerListed, N: 1, Of: 5}},
		{[]string{"768 59 02 FF"}, []string{"768 59 01 FF 00 00 00"}, check.Of(check.Read)},
		{[]string{"768 59 02 FF"}, []string{"768 7F 19 12"}, check.Of(check.Read)},
		{[]string{"768 59 02 FF C1 40 87 2F"}, []string{"768 59 01 FF 00 00 01"}, check.Of(check.Read)},
	} {
		r, _ := checkOf(t, plain(script{"760/19022F": c.list, "760/19012F": c.count}), read.Options{Modules: module(t, "760")})
		e := find(r, "768")
		if again := slices.Contains(rules(r), triage.RuleReadAgain); e.Lists[check.ListByStatus] != c.want || again != (c.want.Kind == check.FewerListed) {
			t.Errorf("%v %v: %v, read again %v", c.list, c.count, e.Lists, again)
		}
	}
}

// An ECU that answers something else than it was asked is there.
func TestModule_AnswersElse(t *testing.T) {
	for _, reply := range []string{"768 59 0A FF C1 40 87 2F", "768 62 F1 90 41", "768 7F 22 31"} {
		r, _ := checkOf(t, plain(script{"760/19022F": {reply}}), read.Options{Modules: module(t, "760")})
		if len(r.NotAnswering) > 0 || !r.Modules[0].Answered || find(r, "768").Lists[check.ListByStatus] != check.Of(check.AnsweredElse) {
			t.Errorf("%s: %v %v", reply, r.NotAnswering, find(r, "768").Lists)
		}
		if got := rules(r); !slices.Contains(got, triage.RuleReadAgain) {
			t.Error(got)
		}
	}
	r, _ := checkOf(t, plain(nil), read.Options{Modules: module(t, "760")})
	if len(r.NotAnswering) != 1 || r.Modules[0].Answered {
		t.Errorf("%+v", r.Modules)
	}
}
