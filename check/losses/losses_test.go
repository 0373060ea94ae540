package losses

import (
	"slices"
	"testing"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// known are the kinds of what a report would lose, by fate.
func known(r *check.Report) map[Fate][]Kind {
	out := map[Fate][]Kind{}
	for _, l := range Of(r) {
		out[l.Fate] = append(out[l.Fate], l.Kind)
	}
	return out
}

// whole is an ECU that the check read, and that keeps nothing.
func whole(id string) check.ECU {
	read := check.Of(check.Read)
	return check.ECU{ID: id, FreezeState: read, TestState: check.Note{Outcome: read},
		Lists: check.Lists{check.ListStored: read, check.ListPending: read, check.ListPermanent: check.Of(check.MaybeNotKept)}}
}

// Each thing that an ECU keeps goes, stays, or goes unseen (SAE J1979: service 04 clears codes,
// freeze frames, readiness, test results and counts; permanent codes stay).
func TestOf(t *testing.T) {
	km := 12.0
	for _, c := range []struct {
		name   string
		change func(e *check.ECU)
		fate   Fate
		want   []Kind
	}{
		{"nothing", func(*check.ECU) {}, Goes, nil},
		{"a stored code", func(e *check.ECU) { e.Codes = []check.Code{{Code: "P0741", State: dtc.Stored}} }, Goes, []Kind{Codes}},
		{"a permanent code", func(e *check.ECU) { e.Codes = []check.Code{{Code: "P0741", State: dtc.Permanent}} }, Stays, []Kind{Codes}},
		{"a freeze frame", func(e *check.ECU) { e.Freezes = []check.Freeze{{Code: "P0741"}} }, Goes, []Kind{Freeze}},
		{"part of one", func(e *check.ECU) { e.Freezes = []check.Freeze{{Code: "P0741", Cut: true}} }, Unseen, []Kind{FreezePart}},
		{"freeze frames not read", func(e *check.ECU) { e.FreezeState = check.Of(check.Damaged) }, Unseen, []Kind{AnyFreeze}},
		{"codes not read", func(e *check.ECU) { e.Lists[check.ListStored] = check.Of(check.Damaged) }, Unseen, []Kind{UnreadCodes}},
		{"permanent codes not read", func(e *check.ECU) { e.Lists[check.ListPermanent] = check.Of(check.Damaged) }, Unseen, nil},
		{"tests not read", func(e *check.ECU) { e.TestState.Outcome = check.Of(check.Damaged) }, Unseen, []Kind{AnyTests}},
		{"tests not asked for", func(e *check.ECU) { e.TestState = check.Note{} }, Unseen, nil},
		{"a self-test", func(e *check.ECU) { e.Readiness = []check.Monitor{{Complete: true}, {}} }, Goes, []Kind{Readiness}},
		{"self-tests not complete", func(e *check.ECU) { e.Readiness = []check.Monitor{{}, {}} }, Goes, nil},
		{"a count of misfires", func(e *check.ECU) {
			e.Tests = []check.TestResult{{ID: check.TestID{Monitor: 0xA2, Test: 0x0C}, Value: 1}}
		}, Goes, []Kind{Misfires}},
		{"counts", func(e *check.ECU) { e.Cleared = &check.Cleared{KM: &km} }, Goes, []Kind{Counters}},
		{"no counts", func(e *check.ECU) { e.Cleared = &check.Cleared{} }, Goes, nil},
	} {
		e := whole("7E8")
		c.change(&e)
		r := &check.Report{ECUs: []check.ECU{e}}
		if got := known(r)[c.fate]; !slices.Equal(got, c.want) || Whole(Of(r)) != (len(known(r)[Unseen]) == 0) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// The states of one code part: permanent stays, the rest goes.
func TestOf_States(t *testing.T) {
	e := whole("7E8")
	for _, s := range []dtc.State{dtc.Stored, dtc.Permanent, dtc.Pending} {
		e.Codes = append(e.Codes, check.Code{Code: "P0741", State: s})
	}
	got := Of(&check.Report{ECUs: []check.ECU{e}})
	if len(got) != 2 || got[0].Fate != Goes || !slices.Equal(got[0].States, []dtc.State{dtc.Stored, dtc.Pending}) || got[1].Fate != Stays {
		t.Errorf("%+v", got)
	}
}

// The request to clear goes to all ECUs that are asked at 7E0 to 7E7 (ISO 15765-4), named by the
// user or not: codes of a further module may stay or go, seen or not.
func TestOf_Further(t *testing.T) {
	for id, addressed := range map[string]bool{"7EA": true, "768": false, "7F8": false, "7F0": false, "7E7": false, "18DAF128": true} {
		e := check.ECU{ID: id, Module: "further", Codes: []check.Code{{Code: "C0035-11", State: dtc.Current}}}
		got := known(&check.Report{ECUs: []check.ECU{e}})
		if len(got) != 1 || !slices.Equal(got[Either], []Kind{Codes}) || Addressed(&e) != addressed {
			t.Errorf("%s: %v", id, got)
		}
	}
	e := check.ECU{ID: "768", Module: "brakes", Lists: check.Lists{check.ListByStatus: check.Of(check.Damaged)}}
	if got := known(&check.Report{ECUs: []check.ECU{e}}); len(got) != 1 || !slices.Equal(got[Either], []Kind{UnreadCodes}) {
		t.Errorf("%v", got)
	}
}
